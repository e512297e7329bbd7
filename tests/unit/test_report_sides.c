/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page where a study has answers on other shots: side by side, what differs marked. */
#include "near.h"
#include "html_page.h"

static void test_other_answers_stand_side_by_side(void **state)
{
    struct fixture *f = *state;
    const char *s = part(f->arena, page(f), "<caption>Side by side", "</section>");
    const char *said = words(f->arena, s);
    ASSERT_ORDER(said, "Result As used With the excluded shot (line 18)",
                 "verdict of the study met \xe2\x89\xa0 not shown",
                 "weight stays on its plateau met \xe2\x89\xa0 not shown",
                 "cavities freeze together not shown not shown",
                 "hold time, lower limit 5.8 s \xe2\x89\xa0 6.0 s",
                 "gate freeze time 5.40 s, 5.10 to 5.80 s 5.50 s, 5.10 to 5.93 s",
                 "start of the plateau 4.9 s and more 4.9 s and more",
                 "plateau weight 25.1800 g, 25.1760 to 25.1840 g \xe2\x89\xa0 none",
                 "\xe2\x89\xa0 marks another verdict or limit");
    /* a cell says on a phone which it is; the sentence says no more than the table */
    assert_has(s, "<td class=\"differs\" data-label=\"With the excluded shot (line 18)\"><span>");
    assert_int_equal(count(s, "class=\"differs\""), count(s, "\xe2\x89\xa0 ") - 1);
    assert_null(strstr(page(f), "the answer is: Set 6.4 s"));
    sample_findings(&f->analysis)->other_answers[0].reason = "parts of two ages";
    assert_null(strstr(page(f), "<caption>Side by side"));
    assert_has(page(f), "With the excluded shot (line 18) the answer is: Set 6.4 s.");
}

static void test_same_answers_have_no_mark(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    struct other_answer *o = g->other_answers;
    *o = (struct other_answer){.title = o->title,
                               .verdict = g->verdict,
                               .quantities = g->quantities,
                               .n_quantities = g->n_quantities,
                               .criteria = g->criteria,
                               .n_criteria = g->n_criteria,
                               .bounds = g->bounds,
                               .n_bounds = g->n_bounds};
    const char *s = part(f->arena, page(f), "<caption>Side by side", "</section>");
    assert_null(strstr(s, "\xe2\x89\xa0"));
    assert_has(s, "Nothing differs, as far as digits are shown.");
    g->n_other_answers = 0;
    g->with_excluded = NULL;
    assert_null(strstr(page(f), "Side by side"));
}

/* Two answers differ where either value lies outside the interval of the other one. */
static void test_a_number_outside_the_others_interval_is_marked(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    struct other_answer *o = g->other_answers;
    struct quantity q = o->quantities[0];
    *o = (struct other_answer){.title = o->title,
                               .verdict = g->verdict,
                               .quantities = &q,
                               .n_quantities = 1,
                               .criteria = g->criteria,
                               .n_criteria = g->n_criteria,
                               .bounds = g->bounds,
                               .n_bounds = g->n_bounds};
    g->n_quantities = 1; /* 5.4, 5.1 to 5.8 */
    const char *s = part(f->arena, page(f), "<caption>Side by side", "</section>");
    assert_null(strstr(s, "\xe2\x89\xa0"));
    assert_has(s, "No verdict and no limit differs, and every number is inside the other");
    const double apart[][3] = {{5.85, 5.2, 6.1}, {5.7, 5.5, 5.9}, {5.4, PL_NAN, PL_NAN}};
    for (size_t i = 0; i < 3; i++) {
        q.value = apart[i][0] + (i == 2 ? 0.01 : 0.0);
        q.low = apart[i][1];
        q.high = apart[i][2];
        s = part(f->arena, page(f), "<caption>Side by side", "</section>");
        assert_int_equal(count(s, "class=\"differs\""), 1);
    }
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        CASE(test_other_answers_stand_side_by_side),
        CASE(test_same_answers_have_no_mark),
        CASE(test_a_number_outside_the_others_interval_is_marked),
    };
    return cmocka_run_group_tests_name("report: side by side", tests, NULL, NULL);
}
