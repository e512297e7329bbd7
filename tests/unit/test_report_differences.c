/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two records side by side. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "plateau/report.h"

struct bench {
    struct arena *a;
    struct record_differences d;
    struct error e;
};

static int setup(void **state)
{
    struct arena *a = arena_new();
    struct bench *b = ARENA_NEW(a, struct bench);
    b->a = a;
    *state = b;
    return 0;
}

static int teardown(void **state)
{
    arena_free(((struct bench *)*state)->a);
    return 0;
}

static enum errc compare(struct bench *b, const char *recorded, const char *now)
{
    const struct record_bytes x = {"then.json", recorded, strlen(recorded)};
    const struct record_bytes y = {"now.json", now, strlen(now)};
    b->e = (struct error){.code = ERR_NONE};
    return report_record_compare(b->a, &x, &y, &b->d, &b->e);
}

/* total differences, and the first as "where: recorded -> now" */
static void expect(struct bench *b, const char *recorded, const char *now, size_t total,
                   size_t rounding, const char *first)
{
    assert_int_equal(compare(b, recorded, now), ERR_NONE);
    assert_int_equal(b->d.n, total);
    assert_int_equal(b->d.rounding, rounding);
    if (total == 0)
        return;
    const struct record_difference *d = &b->d.items[0];
    assert_string_equal(arena_printf(b->a, "%s: %s -> %s", d->where, d->recorded, d->now), first);
}

static void layout_is_no_difference(void **state)
{
    expect(*state, "{\"a\": 1, \"b\": [2, null]}", "{\"b\":[2,null],\n\"a\":1}", 0, 0, "");
}

static void ten_digits(void **state)
{
    struct bench *b = *state;
    expect(b, "[1.234567891]", "[1.234567892]", 0, 1, "");
    expect(b, "[9.999999999]", "[10]", 0, 1, "");
    expect(b, "[-1.649888115e-21]", "[0]", 0, 1, "");
    expect(b, "[1.234567891]", "[1.234567893]", 1, 0, "[0]: 1.234567891 -> 1.234567893");
    expect(b, "[1e-14]", "[2e-14]", 1, 0, "[0]: 1e-14 -> 2e-14");
    expect(b, "[0.5]", "[-0.5]", 1, 0, "[0]: 0.5 -> -0.5");
    expect(b, "[3]", "[3.0]", 0, 1, ""); /* written otherwise, the same number */
}

static void kinds(void **state)
{
    struct bench *b = *state;
    expect(b, "{\"v\": null}", "{\"v\": 0}", 1, 0, "v: null -> 0");
    expect(b, "{\"v\": \"met\"}", "{\"v\": \"not met\"}", 1, 0, "v: \"met\" -> \"not met\"");
    expect(b, "{\"v\": true}", "{}", 1, 0, "v: true -> nothing");
    expect(b, "{}", "{\"v\": {\"w\": 1}}", 1, 0, "v: nothing -> {\"w\": 1}");
    expect(b, "{\"v\": [1]}", "{\"v\": {}}", 1, 0, "v: [1] -> {}");
}

static void items_are_called_by_their_names(void **state)
{
    struct bench *b = *state;
    expect(b,
           "{\"studies\": [{\"study\": \"gate-freeze\", \"bounds\": [{\"setting\": \"hold_time\", "
           "\"value\": 6}]}]}",
           "{\"studies\": [{\"study\": \"gate-freeze\", \"bounds\": [{\"setting\": \"hold_time\", "
           "\"value\": 7}]}]}",
           1, 0, "studies[gate-freeze].bounds[hold_time].value: 6 -> 7");
    expect(b, "[{\"name\": \"x\", \"v\": 1}, {\"name\": \"x\", \"v\": 2}]",
           "[{\"name\": \"x\", \"v\": 1}, {\"name\": \"x\", \"v\": 3}]", 1, 0, "[x, 2].v: 2 -> 3");
}

/* The first study is gone: the second is compared with itself, and what is gone is told once. */
static void what_is_missing_shifts_nothing(void **state)
{
    expect(*state,
           "{\"studies\": [{\"study\": \"cooling\", \"quantities\": [{\"name\": \"x\", \"value\": "
           "1}]}, {\"study\": \"gate-freeze\", \"title\": \"G\"}]}",
           "{\"studies\": [{\"study\": \"gate-freeze\", \"title\": \"G\"}]}", 1, 0,
           "studies[cooling]: {\"quantities\": [{\"name\": \"x\", \"value\": 1}], \"study\": "
           "\"cooling\"} -> nothing");
    expect(*state, "[{\"file\": \"a.csv\", \"first_line\": 3, \"setting\": 2.5, \"mean\": 1}]",
           "[{\"file\": \"a.csv\", \"first_line\": 1, \"setting\": 2, \"mean\": 7}, {\"file\": "
           "\"a.csv\", \"first_line\": 3, \"setting\": 2.5, \"mean\": 2}]",
           2, 0, "[a.csv, line 3].mean: 1 -> 2");
    expect(*state, "[{\"setting\": \"t\", \"side\": \"upper\", \"v\": 1}]",
           "[{\"setting\": \"t\", \"side\": \"lower\", \"v\": 0}, {\"setting\": \"t\", \"side\": "
           "\"upper\", \"v\": 1}]",
           1, 0, "[t, lower]: nothing -> {\"setting\": \"t\", \"side\": \"lower\", \"v\": 0}");
}

/* A name that looks like a numbered one takes nothing away from it. */
static void every_item_is_compared(void **state)
{
    expect(*state,
           "[{\"name\": \"x\"}, {\"name\": \"x\", \"v\": 1}, {\"name\": \"x, 2\", \"v\": 2}, 3]",
           "[{\"name\": \"x\"}, {\"name\": \"x\", \"v\": 5}, {\"name\": \"x, 2\", \"v\": 6}, 7]", 3,
           0, "[x, 2].v: 1 -> 5");
    struct bench *b = *state;
    assert_string_equal(b->d.items[1].where, "[x, 2, 2].v");
    assert_string_equal(b->d.items[2].where, "[3]");
}

static void window_and_verdicts_come_first(void **state)
{
    static const char *const order[] = {
        "window[hold_time].aim",
        "studies[s].verdict",
        "studies[s].quantities[q].value",
        "expected[w].alarm_low",
        "studies[s].conditions[g.csv, line 9].mean",
    };
    struct bench *b = *state;
    static const char text[] =
        "{\"expected\": [{\"alarm_low\": %d, \"name\": \"w\"}], \"studies\": [{\"conditions\": "
        "[{\"file\": \"g.csv\", \"first_line\": 9, \"mean\": %d}], \"quantities\": [{\"name\": "
        "\"q\", \"value\": %d}], \"study\": \"s\", \"verdict\": %d}], \"window\": [{\"aim\": %d, "
        "\"setting\": \"hold_time\"}]}";
    const char *then = arena_printf(b->a, text, 1, 2, 3, 4, 5);
    const char *now = arena_printf(b->a, text, 6, 7, 8, 9, 10);
    assert_int_equal(compare(b, then, now), ERR_NONE);
    assert_int_equal(b->d.n, PL_COUNT(order));
    for (size_t i = 0; i < PL_COUNT(order); i++)
        assert_string_equal(b->d.items[i].where, order[i]);
}

/* Two long sentences are shown from where they begin to differ. */
static void long_texts_are_shown_where_they_part(void **state)
{
    struct bench *b = *state;
    const char *same = "Keep the mold closed for at least 22.90 s from the start of filling: from "
                       "there on the length stays within 0.02 mm of its end value, ";
    const char *then = arena_printf(b->a, "{\"v\": \"%sand 7 shots\"}", same);
    const char *now = arena_printf(b->a, "{\"v\": \"%sand 9 shots\"}", same);
    expect(b, then, now, 1, 0,
           "v: ... of its end value, and 7 shots\" -> ... of its end value, and 9 shots\"");
}

static void harmless(void **state)
{
    struct bench *b = *state;
    assert_int_equal(compare(b, "{\"\\u001b[31m\": \"\\u001b]0;x\\u0007\"}", "{}"), ERR_NONE);
    assert_int_equal(b->d.n, 1);
    assert_null(strchr(b->d.items[0].where, 0x1b));
    assert_null(strchr(b->d.items[0].recorded, 0x1b));
    assert_null(strchr(b->d.items[0].recorded, 0x07));
}

static void long_lists_are_whole(void **state)
{
    struct bench *b = *state;
    struct text x, y;
    text_init(&x, b->a);
    text_init(&y, b->a);
    for (int i = 0; i < 500; i++) {
        text_addf(&x, "%s%d", i == 0 ? "[" : ",", i);
        text_addf(&y, "%s%d", i == 0 ? "[" : ",", i + 1);
    }
    text_add(&x, "]");
    text_add(&y, "]");
    assert_int_equal(compare(b, x.s, y.s), ERR_NONE);
    assert_int_equal(b->d.n, 500);
    assert_string_equal(b->d.items[499].where, "[499]");
}

static void what_is_no_json(void **state)
{
    struct bench *b = *state;
    assert_int_equal(compare(b, "{\n\"a\": }", "{}"), ERR_INPUT);
    assert_string_equal(b->e.file, "then.json");
    assert_int_equal(b->e.line, 2);
    assert_int_equal(compare(b, "{}", ""), ERR_INPUT);
    assert_string_equal(b->e.file, "now.json");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(layout_is_no_difference, setup, teardown),
        cmocka_unit_test_setup_teardown(ten_digits, setup, teardown),
        cmocka_unit_test_setup_teardown(kinds, setup, teardown),
        cmocka_unit_test_setup_teardown(items_are_called_by_their_names, setup, teardown),
        cmocka_unit_test_setup_teardown(what_is_missing_shifts_nothing, setup, teardown),
        cmocka_unit_test_setup_teardown(every_item_is_compared, setup, teardown),
        cmocka_unit_test_setup_teardown(window_and_verdicts_come_first, setup, teardown),
        cmocka_unit_test_setup_teardown(long_texts_are_shown_where_they_part, setup, teardown),
        cmocka_unit_test_setup_teardown(harmless, setup, teardown),
        cmocka_unit_test_setup_teardown(long_lists_are_whole, setup, teardown),
        cmocka_unit_test_setup_teardown(what_is_no_json, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
