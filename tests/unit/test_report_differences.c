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
    assert_int_equal(b->d.total, total);
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

static void harmless(void **state)
{
    struct bench *b = *state;
    assert_int_equal(compare(b, "{\"\\u001b[31m\": \"\\u001b]0;x\\u0007\"}", "{}"), ERR_NONE);
    assert_int_equal(b->d.total, 1);
    assert_null(strchr(b->d.items[0].where, 0x1b));
    assert_null(strchr(b->d.items[0].recorded, 0x1b));
    assert_null(strchr(b->d.items[0].recorded, 0x07));
}

static void long_lists_are_counted(void **state)
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
    assert_int_equal(b->d.total, 500);
    assert_int_equal(b->d.n, RECORD_DIFFERENCES_LISTED);
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
        cmocka_unit_test_setup_teardown(harmless, setup, teardown),
        cmocka_unit_test_setup_teardown(long_lists_are_counted, setup, teardown),
        cmocka_unit_test_setup_teardown(what_is_no_json, setup, teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
