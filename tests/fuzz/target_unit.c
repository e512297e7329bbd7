/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Unit spellings. What is found must be a unit that its own spelling finds again, in every
 * dimension that takes it. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "read/units.h"

static void check_unit(const struct unit *u)
{
    FUZZ_CHECK(u->dimension < DIM_N && u->spelling != NULL && fuzz_is_harmless(u->spelling),
               "a unit without dimension or spelling");
    FUZZ_CHECK(isfinite(u->factor) && u->factor > 0.0 && isfinite(u->offset), "%s: factor %g",
               u->spelling, u->factor);
    struct unit_result again = unit_find_for(u->dimension, u->spelling, strlen(u->spelling));
    FUZZ_CHECK(again.answer == UNIT_OK && again.unit == u, "%s does not find itself", u->spelling);
    double there = 12.5 * u->factor + u->offset;
    FUZZ_CHECK(fabs(unit_from_canonical(u, there) - 12.5) <= 1e-12 * (12.5 + fabs(u->offset)),
               "%s: 12.5 does not come back", u->spelling);
}

static void check_asked(enum dimension d, const char *s, size_t n, const struct unit *plain,
                        const char *question)
{
    struct unit_result r = unit_find_for(d, s, n);
    switch (r.answer) {
    case UNIT_OK:
        FUZZ_CHECK(r.unit != NULL && r.unit->dimension == d, "a unit of another dimension");
        check_unit(r.unit);
        break;
    case UNIT_WRONG_DIMENSION:
        FUZZ_CHECK(r.unit != NULL && r.unit->dimension != d, "not of another dimension");
        break;
    case UNIT_ASK:
        FUZZ_CHECK(r.question != NULL && fuzz_is_harmless(r.question), "nothing is asked");
        break;
    case UNIT_UNKNOWN:
        FUZZ_CHECK(plain == NULL && question == NULL, "%s is known without a dimension",
                   plain != NULL ? plain->spelling : "a question");
        break;
    }
}

void fuzz_run_unit(const char *bytes, size_t n)
{
    struct arena *a = fuzz_begin();
    const char *question = NULL;
    const struct unit *u = unit_find(bytes, n, &question);
    FUZZ_CHECK(u == NULL || question == NULL, "a unit and a question");
    FUZZ_CHECK(unit_find(bytes, n, NULL) == u, "found with a question asked and not without");
    if (u != NULL)
        check_unit(u);
    /* what no dimension knows is asked of a few only: nearly all inputs are of that kind */
    bool known = u != NULL || question != NULL;
    for (int d = 0; d < (int)DIM_N; d++)
        if (known || d == (int)DIM_RATIO || d == (int)(n % DIM_N))
            check_asked((enum dimension)d, bytes, n, u, question);
    fuzz_end(a);
}
