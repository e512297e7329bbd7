/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The record: what is in it, that it comes back, and that a broken one is refused with its place.
 * jansson, which did not write it, is the judge of what was written. */
#include <string.h>

#include <jansson.h>

#include "near.h"
#include "sample_analysis.h"

static struct arena *arena;

static int make_arena(void **state)
{
    (void)state;
    arena = arena_new();
    return 0;
}

static int free_arena(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

static const char *written(const struct analysis *x)
{
    struct text t;
    struct error e = {0};
    text_init(&t, arena);
    assert_int_equal(report_record(&t, x, &e), ERR_NONE);
    assert_int_equal(t.s[t.length - 1], '\n');
    return t.s;
}

static void read_back(const char *s, struct analysis *out)
{
    struct error e = {0};
    if (report_record_read(arena, "record.json", s, strlen(s), out, &e) != ERR_NONE)
        print_error("%s:%ld: %s\n", e.file, e.line, e.message);
    assert_int_equal(e.code, ERR_NONE);
}

/* ---- round trip ---- */

static void check_round_trip(const struct analysis *x)
{
    struct analysis again;
    const char *first = written(x);
    read_back(first, &again);
    assert_string_equal(written(&again), first);
}

static void test_round_trip(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    check_round_trip(&x);
}

static void test_round_trip_hostile(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_hostile(arena, &x);
    check_round_trip(&x);
}

static void test_round_trip_not_frozen(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_not_frozen(arena, &x);
    check_round_trip(&x);
}

static void test_round_trip_nothing(void **state)
{
    (void)state;
    struct premises p = {.confidence = 0.95};
    struct analysis x = {.premises = &p}, again;
    check_round_trip(&x);
    read_back(written(&x), &again);
    assert_null(again.window);
    assert_int_equal(again.n_findings, 0);
}

/* ---- what another reader sees ---- */

static json_t *parsed(const char *s)
{
    json_error_t why;
    json_t *root = json_loads(s, JSON_REJECT_DUPLICATES, &why);
    if (root == NULL)
        print_error("line %d: %s\n", why.line, why.text);
    assert_non_null(root);
    return root;
}

/* jansson keeps the order in which keys came. */
static void check_sorted(json_t *v)
{
    const char *key, *before = "";
    json_t *item;
    size_t i;
    json_object_foreach(v, key, item)
    {
        assert_true(strcmp(before, key) < 0);
        before = key;
        check_sorted(item);
    }
    json_array_foreach(v, i, item) check_sorted(item);
}

static void test_keys_are_sorted(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_hostile(arena, &x);
    json_t *root = parsed(written(&x));
    check_sorted(root);
    json_decref(root);
}

static void check_has(json_t *o, const char *keys)
{
    char *list = arena_copy(arena, keys), *rest = NULL;
    for (char *key = strtok_r(list, " ", &rest); key != NULL; key = strtok_r(NULL, " ", &rest))
        if (json_object_get(o, key) == NULL) {
            print_error("missing: %s\n", key);
            fail();
        }
}

/* The keys that format.md promises. */
static void test_promised_keys(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    json_t *root = parsed(written(&x));
    check_has(root, "plateau trial options inputs studies window expected no_window flags verdict "
                    "checks next_shots");
    check_has(json_object_get(root, "plateau"), "record version");
    check_has(json_object_get(root, "options"), "confidence resamples seed");
    check_has(json_array_get(json_object_get(root, "inputs"), 1),
              "file sha256 bytes rows repairs excluded");
    json_t *study = json_array_get(json_object_get(root, "studies"), 0);
    check_has(study, "study files verdict quantities criteria conditions operating_point models "
                     "bounds flags next_shots");
#define FIRST(key) json_array_get(json_object_get(study, key), 0)
    check_has(FIRST("quantities"), "name value low high unit method");
    check_has(FIRST("criteria"), "name limit unit origin value low high level sides verdict "
                                 "shots_to_decide");
    check_has(FIRST("conditions"), "series setting block n mean sd left_out");
    check_has(FIRST("models"), "name parameters covariance residual_sd aicc weight in_play misfit "
                               "chosen");
    check_has(FIRST("bounds"), "setting side value low high unit grade model criterion because");
    check_has(FIRST("flags"), "code grade text file line");
    json_t *setting = json_array_get(json_object_get(root, "window"), 1);
    check_has(setting, "setting unit low aim high low_from high_from verdict by_convention");
    assert_string_equal(json_string_value(json_object_get(setting, "setting")), "hold_time");
    assert_string_equal(json_string_value(json_object_get(setting, "low_from")), "gate-freeze");
    assert_true(json_is_null(json_object_get(setting, "high_from")));
    assert_string_equal(json_string_value(json_object_get(setting, "unit")), "s");
    assert_near(json_number_value(json_object_get(setting, "aim")), 6.3, 0, 0);
    check_has(json_array_get(json_object_get(root, "expected"), 0),
              "name value low high unit alarm_low alarm_high");
    json_decref(root);
}

/* Objects whose keys are names of the trial's own. */
static bool has_free_keys(const char *key)
{
    static const char *const names[] = {"trial", "display", "operating_point", "parameters",
                                        "covariance"};
    for (size_t i = 0; i < PL_COUNT(names); i++)
        if (strcmp(key, names[i]) == 0)
            return true;
    return false;
}

static void check_documented(json_t *v, const char *page, bool free_keys)
{
    const char *key;
    json_t *item;
    size_t i;
    json_object_foreach(v, key, item)
    {
        if (!free_keys && strstr(page, arena_printf(arena, "`%s`", key)) == NULL) {
            print_error("format.md does not speak of \"%s\"\n", key);
            fail();
        }
        if (strcmp(key, "covariance") != 0 && strcmp(key, "trial") != 0)
            check_documented(item, page, has_free_keys(key));
    }
    json_array_foreach(v, i, item) check_documented(item, page, false);
}

static const char *file_text(const char *path)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    struct text t;
    char block[4096];
    text_init(&t, arena);
    for (size_t n; (n = fread(block, 1, sizeof block, f)) > 0;)
        text_add_n(&t, block, n);
    fclose(f);
    return t.s;
}

static void test_every_key_is_documented(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    json_t *root = parsed(written(&x));
    const char *page = strstr(file_text(SOURCE_DIR "/docs/format.md"), "## The record");
    assert_non_null(page);
    check_documented(root, page, false);
    json_decref(root);
}

static void test_numbers_have_ten_digits(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    struct quantity *q = &sample_findings(&x)->quantities[0];
    q->value = 2.0 / 3.0;
    q->low = -0.0;
    q->high = 1e-5 / 3.0;
    const char *s = written(&x);
    assert_non_null(strstr(s, "\"value\": 0.6666666667"));
    assert_non_null(strstr(s, "\"high\": 3.333333333e-06"));
    assert_null(strstr(s, "-0,"));
    check_round_trip(&x);
}

static void test_no_number_and_open_ends(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    json_t *root = parsed(written(&x));
    json_t *q = json_array_get(
        json_object_get(json_array_get(json_object_get(root, "studies"), 0), "quantities"), 2);
    assert_string_equal(json_string_value(json_object_get(q, "name")), "plateau_start");
    assert_true(json_is_null(json_object_get(q, "value")));
    assert_true(json_is_null(json_object_get(q, "high")));
    assert_string_equal(json_string_value(json_object_get(q, "reason")),
                        "the best family has no corner");
    json_t *open = json_object_get(q, "open");
    assert_int_equal(json_object_size(open), 1);
    assert_string_equal(json_string_value(json_object_get(open, "high")), "above");
    json_decref(root);
    read_back(written(&x), &again);
    assert_true(isnan(again.findings[0].quantities[2].value));
    assert_true(again.findings[0].quantities[2].high == (double)INFINITY);
    assert_true(again.findings[0].quantities[4].low == -(double)INFINITY);
}

/* Control characters and markup come back as they were; bytes that are no UTF-8 are spelled. */
static void test_hostile_text_comes_back(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis_hostile(arena, &x);
    const char *s = written(&x);
    for (const char *p = s; *p != '\0'; p++)
        assert_true(*p == '\n' || (unsigned char)*p >= 0x20);
    assert_null(strstr(s, "\xe2\x80\xae")); /* the mark that turns text around */
    read_back(s, &again);
    assert_string_equal(again.findings[0].decision,
                        "<script>alert(1)</script> \"'&]]>\x1b[2J\x1b]0;owned\x07 \xe2\x80\xae txt "
                        "\\xFF\\xC3 \\x9B\x01 {\"a\":1}");
}

/* Where the trial lay is nobody's business. */
static void test_no_absolute_path(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    struct premises *p = sample_premises(&x);
    struct finding *f = sample_findings(&x);
    p->path = "/home/somebody/trials/lid";
    p->files[1].name = f->files[0] = f->flags[0].file = "/home/somebody/trials/lid/gate-freeze.csv";
    assert_null(strstr(written(&x), "somebody"));
}

static void test_one_name_twice_is_an_error(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    struct model *m = &sample_findings(&x)->models[0];
    m->parameter[1] = m->parameter[0];
    struct text t;
    struct error e = {0};
    text_init(&t, arena);
    text_add(&t, "before");
    assert_int_equal(report_record(&t, &x, &e), ERR_INTERNAL);
    assert_string_equal(t.s, "before");
}

/* ---- broken records ---- */

static const char *replaced(const char *s, const char *from, const char *to)
{
    const char *at = strstr(s, from);
    assert_non_null(at);
    struct text t;
    text_init(&t, arena);
    text_add_n(&t, s, (size_t)(at - s));
    text_add(&t, to);
    text_add(&t, at + strlen(from));
    return t.s;
}

static long line_of(const char *s, const char *what)
{
    const char *at = strstr(s, what);
    assert_non_null(at);
    long line = 1;
    for (; s < at; s++)
        line += *s == '\n';
    return line;
}

static void refused(const char *s, long line, const char *message)
{
    struct analysis out;
    struct error e = {0};
    assert_int_equal(report_record_read(arena, "old.json", s, strlen(s), &out, &e), ERR_INPUT);
    assert_string_equal(e.message, message);
    assert_string_equal(e.file, "old.json");
    assert_int_equal(e.line, line);
    assert_null(out.premises);
    assert_int_equal(out.n_findings, 0);
}

static void test_broken_records_are_refused(void **state)
{
    (void)state;
    /* `from` is replaced by `to`, and the complaint is about the line that holds `to` */
    static const struct {
        const char *from, *to, *message;
    } cases[] = {
        {"\"record\": 1", "\"record\": 2",
         "plateau.record: the record has version 2 and this program reads version 1; analyze the "
         "trial again with this program"},
        {"\"value\": 5.4\n", "\"value\": \"5.4\"\n",
         "studies[0].quantities[0].value: a number or null is expected"},
        {"\"side\": \"lower\"", "\"side\": \"left\"",
         "studies[0].bounds[0].side: one of \"lower\", \"upper\" is expected"},
        {"\"grade\": \"doubt\",\n          \"line\": 13", "\"grade\": 7,\n          \"line\": 13",
         "studies[0].flags[0].grade: one of \"note\", \"doubt\", \"stop\" is expected"},
        {"\"name\": \"freeze_time\"", "\"name\": null",
         "studies[0].quantities[0].name: a text is expected"},
        {"\"origin\": \"our convention\"", "\"origin\": \"hearsay\"",
         "studies[0].criteria[0].origin: \"common practice\", \"given\", \"our convention\", "
         "\"standard\" or null is expected"},
        {"\"shots\": 3,", "\"shots\": 3.5,", "next_shots[0].shots: a whole number is expected"},
        {"\"shots\": 59,", "\"shots\": 59.5,",
         "studies[1].next_shots[0].shots: a whole number is expected"},
        {"\"bytes\": 412", "\"bytes\": -412",
         "inputs[0].bytes: a whole number from 0 on is expected"},
        {"\"chosen\": true", "\"chosen\": 1",
         "studies[0].models[0].chosen: true or false is expected"},
        {"\"lines\": [8]", "\"lines\": [8, 9, 10, 11]",
         "inputs[1].repairs[0].lines: at most three lines are expected"},
        {"[12, 1, 25.21, ", "[12, 1, ",
         "studies[0].tables[0].rows[8]: an array with one value per column is expected"},
        {"[12, 1, 25.21, ", "[12, true, 25.21, ",
         "studies[0].tables[0].rows[8][1]: a number or null is expected"},
        {"\"files\": [\"gate-freeze.csv\"]", "\"files\": [null]",
         "studies[0].files[0]: a text is expected"},
        {"\"unread\": [\"notes.csv\"]", "\"unread\": \"notes.csv\"",
         "unread: an array is expected"},
        {"\"trial\": {", "\"trial\": [], \"was\": {", "trial: an object is expected"},
        {"\"unit\": \"bar\"", "\"unit\": null",
         "display.pressure: a unit with a positive factor and an offset is expected"},
        {"\"verdict\": \"not shown\",\n  \"window\"", "\"verdict\": \"passed\",\n  \"window\"",
         "verdict: one of \"none\", \"met\", \"not shown\", \"not met\" is expected"},
    };
    struct analysis x;
    sample_analysis(arena, &x);
    sample_findings(&x)->n_other_answers = 0; /* it has the same keys */
    const char *good = written(&x);
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        const char *bad = replaced(good, cases[i].from, cases[i].to);
        refused(bad, line_of(bad, cases[i].to), cases[i].message);
    }
}

static void test_missing_members(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    const char *good = written(&x);
    /* one that a finding cannot be without */
    const char *bad = replaced(good, "\"side\": \"lower\",", "");
    refused(bad, line_of(bad, "\"because\": \"weight is within 0.1 % of its plateau") - 1,
            "studies[0].bounds[0].side: this is missing");
    /* one that it can, and one that nobody knows */
    read_back(replaced(good, "\"title\": \"Gate freeze\",", "\"colour_of_the_press\": \"grey\","),
              &again);
    assert_string_equal(again.findings[0].title, "gate-freeze");
}

static void test_what_is_no_record_at_all(void **state)
{
    (void)state;
    refused("[]\n", 1, "the record: a record is one object in braces");
    refused("{\n}\n", 1,
            "the record: this is not a record: \"plateau\" with the record's version is missing");
    struct analysis out;
    struct error e = {0};
    const char *cut = "{\n\"plateau\": {\"record\": 1,\n";
    assert_int_equal(report_record_read(arena, "r", cut, strlen(cut), &out, &e), ERR_INPUT);
    assert_int_equal(e.line, 3);
    assert_memory_equal(e.message, "this is not JSON: ", 18);
    e = (struct error){0};
    assert_int_equal(report_record_read(arena, "r", "\x1b[2J", 4, &out, &e), ERR_INPUT);
    assert_null(strchr(e.message, '\x1b'));
    e = (struct error){0};
    assert_int_equal(report_record_read(arena, "r", "", 0, &out, &e), ERR_INPUT);
}

/* A model has room for a fixed number of parameters. */
static void test_too_many_parameters(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    const char *bad = replaced(written(&x), "{\"A\": 1.3, \"P\": 25.18, \"tau\": 1.37}",
                               "{\"a\":1,\"b\":1,\"c\":1,\"d\":1,\"e\":1,\"f\":1,\"g\":1}");
    refused(bad, line_of(bad, "{\"a\":1,"),
            "studies[0].models[0].parameters: more parameters than this program knows of");
}

/* Cut anywhere or with one byte changed: refused or read, never a crash (run under the sanitizers).
 */
static void test_damaged_anywhere(void **state)
{
    (void)state;
    struct analysis x, out;
    sample_analysis(arena, &x);
    char *s = arena_copy(arena, written(&x));
    size_t n = strlen(s), refusals = 0;
    for (size_t i = 0; i < n; i += 61) {
        struct error e = {0};
        struct arena_mark mark = arena_mark(arena);
        assert_int_equal(report_record_read(arena, "r", s, i, &out, &e), ERR_INPUT);
        char was = s[i];
        for (const char *c = "\"9{]\xff-e"; *c != '\0'; c++) {
            s[i] = *c;
            e = (struct error){0};
            enum errc code = report_record_read(arena, "r", s, n, &out, &e);
            assert_true(code == ERR_NONE || (code == ERR_INPUT && e.line > 0));
            refusals += code != ERR_NONE;
        }
        s[i] = was;
        arena_reset(arena, mark);
    }
    assert_true(refusals > n / 61);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_arena, free_arena)
    const struct CMUnitTest tests[] = {
        TEST(test_round_trip),
        TEST(test_round_trip_hostile),
        TEST(test_round_trip_not_frozen),
        TEST(test_round_trip_nothing),
        TEST(test_keys_are_sorted),
        TEST(test_promised_keys),
        TEST(test_every_key_is_documented),
        TEST(test_numbers_have_ten_digits),
        TEST(test_no_number_and_open_ends),
        TEST(test_hostile_text_comes_back),
        TEST(test_no_absolute_path),
        TEST(test_one_name_twice_is_an_error),
        TEST(test_broken_records_are_refused),
        TEST(test_missing_members),
        TEST(test_what_is_no_record_at_all),
        TEST(test_too_many_parameters),
        TEST(test_damaged_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
