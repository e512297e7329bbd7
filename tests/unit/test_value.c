/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers with units for people. */
#include <string.h>

#include "near.h"
#include "plateau/base.h"

#define PSI 0.006894757293168361 /* MPa; NIST SP 811 B.8 */

static struct fact ratio = {.section = "press",
                            .key = "intensification_ratio",
                            .kind = FACT_QUANTITY,
                            .dimension = DIM_COUNT,
                            .low = 10.2,
                            .high = 10.2,
                            .given = true};

/* A hydraulic pressure is of this press; what another one needs is the melt's, in the same unit. */
static void melt_pressure_in_the_unit_of_the_hydraulic_one(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct facts with = {.items = &ratio, .n = 1}, without = {.n = 0};
    struct display_unit display[DIM_N] = {[DIM_PRESSURE] = {"bar (hydraulic)", 0.1 * 10.2, 0.0}};
    assert_string_equal(value_text(a, display, DIM_PRESSURE, 102.0, 2.0), "100.0 bar (hydraulic)");
    assert_string_equal(melt_pressure_text(a, display, &with, 102.0, 2.0), "1020 bar");
    assert_string_equal(melt_pressure_text(a, display, &without, 102.0, 2.0), "102.0 MPa");
    assert_null(melt_pressure_text(a, display, &with, PL_NAN, 2.0));
    display[DIM_PRESSURE] = (struct display_unit){"psi (hydraulic)", PSI * 10.2, 0.0};
    assert_string_equal(melt_pressure_text(a, display, &with, 100.0, 2.0), "14504 psi");
    display[DIM_PRESSURE] = (struct display_unit){"psi", PSI, 0.0};
    assert_null(melt_pressure_text(a, display, &with, 100.0, 2.0));
    assert_null(melt_pressure_text(a, NULL, &with, 100.0, 2.0));
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(melt_pressure_in_the_unit_of_the_hydraulic_one),
    };
    return cmocka_run_group_tests_name("numbers with units", tests, NULL, NULL);
}
