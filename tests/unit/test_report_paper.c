/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The printed page: which record it belongs to, and that a title cannot become style. */
#include <string.h>

#include "near.h"
#include "plateau/report.h"
#include "sample_analysis.h"

#define DIGEST "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

static const char *page(struct arena *a, const struct analysis *x)
{
    struct text t;
    text_init(&t, a);
    report_html(&t, x);
    return t.s;
}

static void assert_has(const char *s, const char *what)
{
    if (strstr(s, what) == NULL)
        fail_msg("\"%s\" is missing", what);
}

static void set_title(struct analysis *x, const char *title)
{
    struct facts *facts = (struct facts *)sample_premises(x)->facts;
    for (size_t i = 0; i < facts->n; i++)
        if (strcmp(facts->items[i].section, "trial") == 0 &&
            strcmp(facts->items[i].key, "title") == 0)
            facts->items[i].text = title;
}

static void test_the_record_is_named_where_it_is_signed(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct analysis x;
    sample_analysis(a, &x);
    assert_null(strstr(page(a, &x), "has the SHA-256"));
    x.record_sha256 = DIGEST;
    set_title(&x, "Cover, first sampling");
    const char *s = page(a, &x);
    const char *inputs = strstr(s, "<h2 id=\"inputs\">"), *sign = strstr(s, "<h2 id=\"sign-off\">");
    assert_non_null(inputs);
    assert_non_null(sign);
    assert_has(arena_copy_n(a, inputs, (size_t)(sign - inputs)), "<code>" DIGEST "</code>");
    assert_has(sign, "\u201cCover, first sampling\u201d, made with plateau " PLATEAU_VERSION);
    assert_has(sign, "<code>" DIGEST "</code>");
    arena_free(a);
}

static void test_every_sheet_says_whose_it_is(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct analysis x;
    sample_analysis(a, &x);
    x.record_sha256 = DIGEST;
    set_title(&x, "M\u00fcller cover: 12");
    const char *s = page(a, &x);
    assert_has(s, "@bottom-left{font:8pt sans-serif;content:\"M\u00fcller cover\\3a  12\"}");
    assert_has(s, "content:\"record 0123456789abcdef\"}");
    assert_has(s, "counter(page) \" of \" counter(pages)");
    arena_free(a);
}

static void test_a_title_is_no_style(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct analysis x;
    sample_analysis(a, &x);
    set_title(&x, "\"}</style><b>\\\n*{}");
    const char *s = page(a, &x), *end = strstr(s, "</style>");
    assert_non_null(end);
    assert_true(strncmp(end + 8, "\n</head>", 8) == 0);
    assert_has(s, "content:\"\\22 \\7d \\3c \\2f style\\3e \\3c b\\3e \\5c ");
    arena_free(a);
}

static void test_a_long_title_is_cut_between_characters(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct analysis x;
    sample_analysis(a, &x);
    struct text t, want;
    text_init(&t, a);
    text_init(&want, a);
    for (int i = 0; i < 200; i++)
        text_add(&t, "\u00fc");
    for (int i = 0; i < 70; i++)
        text_add(&want, "\u00fc");
    set_title(&x, t.s);
    assert_has(page(a, &x), arena_printf(a, "content:\"%s ...\"}", want.s));
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_record_is_named_where_it_is_signed),
        cmocka_unit_test(test_every_sheet_says_whose_it_is),
        cmocka_unit_test(test_a_title_is_no_style),
        cmocka_unit_test(test_a_long_title_is_cut_between_characters),
    };
    return cmocka_run_group_tests_name("report: paper", tests, NULL, NULL);
}
