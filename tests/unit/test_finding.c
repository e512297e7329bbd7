/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the waist itself does: verdicts, stop flags, rounding, reasons. */
#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/finding.h"

static struct arena *arena;
static struct finding f;

static int setup(void **state)
{
    (void)state;
    arena = arena_new();
    finding_init(&f, arena, "some-study", "Some study");
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

static void add_criterion(enum verdict v, bool own)
{
    struct criterion *c = finding_criterion(&f, "some_criterion");
    c->verdict = v;
    c->own_verdict = own;
}

static void worst_criterion_decides(void **state)
{
    (void)state;
    finding_finish(&f);
    assert_int_equal(f.verdict, VERDICT_NONE);
    add_criterion(VERDICT_MET, false);
    finding_finish(&f);
    assert_int_equal(f.verdict, VERDICT_MET);
    add_criterion(VERDICT_NOT_MET, true); /* a verdict of its own does not count */
    finding_finish(&f);
    assert_int_equal(f.verdict, VERDICT_MET);
    add_criterion(VERDICT_NOT_SHOWN, false);
    finding_finish(&f);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    add_criterion(VERDICT_NOT_MET, false);
    finding_finish(&f);
    assert_int_equal(f.verdict, VERDICT_NOT_MET);
}

static void a_stop_withdraws_the_bounds(void **state)
{
    (void)state;
    finding_bound(&f, "hold_time", BOUND_LOWER, DIM_TIME)->value = 5.0;
    add_criterion(VERDICT_MET, false);
    finding_flag(&f, "a-doubt", FLAG_DOUBT, NULL, 0, "doubt %d", 1);
    finding_finish(&f);
    assert_int_equal(f.n_bounds, 1);
    assert_int_equal(f.verdict, VERDICT_MET);
    finding_flag(&f, "a-stop", FLAG_STOP, "x.csv", 7, "stop");
    finding_finish(&f);
    assert_int_equal(f.n_bounds, 0);
    assert_int_equal(f.verdict, VERDICT_NOT_SHOWN);
    assert_true(finding_has_flag(&f, "a-stop"));
    assert_false(finding_has_flag(&f, "another"));
}

static void numbers_leave_with_ten_digits(void **state)
{
    (void)state;
    struct quantity *q = finding_quantity(&f, "x", "x", DIM_TIME);
    q->value = 1.23456789012345;
    q->low = -(double)INFINITY;
    finding_bound(&f, "hold_time", BOUND_LOWER, DIM_TIME)->value = 123456.789012345;
    finding_finish(&f);
    assert_near(finding_get(&f, "x")->value, 1.234567890, 0.0, 0.0);
    assert_true(isinf(finding_get(&f, "x")->low));
    assert_true(isnan(finding_get(&f, "x")->high));
    assert_near(f.bounds[0].value, 123456.7890, 0.0, 0.0);
    assert_null(finding_get(&f, "y"));
}

static void rows_left_out_want_a_reason(void **state)
{
    (void)state;
    finding_left_out(&f, "a.csv", 3, "chipped", true);
    finding_left_out(&f, "a.csv", 9, "average row", false);
    finding_finish(&f);
    assert_false(finding_has_flag(&f, "no-reason"));
    finding_left_out(&f, "a.csv", 4, "", true);
    finding_left_out(&f, "a.csv", 5, NULL, true);
    finding_finish(&f);
    assert_true(finding_has_flag(&f, "no-reason"));
    assert_int_equal(f.flags[0].line, 4);
    assert_string_equal(f.flags[0].text,
                        "2 rows are left out without a reason: write it into the column exclude");
    size_t n;
    assert_string_equal(finding_flags(&n)[0].code, "no-reason");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        TEST(worst_criterion_decides),
        TEST(a_stop_withdraws_the_bounds),
        TEST(numbers_leave_with_ten_digits),
        TEST(rows_left_out_want_a_reason),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
