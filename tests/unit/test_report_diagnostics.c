/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Diagnostics with their carets, and how each file was read. */
#include <string.h>

#include "near.h"
#include "sample_analysis.h"

static struct arena *arena;
static struct diag_list list;

static int make_list(void **state)
{
    (void)state;
    arena = arena_new();
    diag_init(&list, arena);
    return 0;
}

static int free_arena(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

static const char *shown(int width, bool color)
{
    struct text t;
    text_init(&t, arena);
    report_diagnostics(&t, &list, &(struct terminal_style){width, color, NULL});
    return t.s;
}

static void add(enum severity severity, const char *source, long line, int from, int to)
{
    struct diag d = {.severity = severity,
                     .code = "not-a-number",
                     .file = "gate-freeze.csv",
                     .column = "hold_time",
                     .message = "hold_time \"1,5x\" is not a number",
                     .expected = "a number in s, for example 5.5",
                     .remedy = "type the hold time without a letter behind it"};
    struct diag_place p = {line, from, to, "A14", source};
    diag_add(&list, &d, &p);
}

static void test_one_error(void **state)
{
    (void)state;
    add(DIAG_ERROR, "1,5x;25.114;ok", 14, 1, 4);
    assert_string_equal(shown(80, false),
                        "gate-freeze.csv:14:1-4 (A14): error: hold_time \"1,5x\" is not a number\n"
                        "   14 | 1,5x;25.114;ok\n"
                        "      | ^^^^\n"
                        "  expected: a number in s, for example 5.5\n"
                        "  to mend it: type the hold time without a letter behind it\n"
                        "  more: plateau explain not-a-number\n"
                        "\n"
                        "1 error.\n");
}

static void test_many_of_a_kind(void **state)
{
    (void)state;
    for (long line = 14; line < 21; line++)
        add(DIAG_WARNING, "25.114;1,5x", line, 8, 11);
    const char *s = shown(100, false);
    assert_non_null(strstr(s, "gate-freeze.csv:14:8-11 (A14): warning: "));
    assert_non_null(strstr(s, "   14 | 25.114;1,5x\n      |        ^^^^\n"));
    assert_non_null(strstr(s, "  found 7 times; also gate-freeze.csv:15:8-11 (A14), "
                              "gate-freeze.csv:16:8-11 (A14) and 4 more\n"));
    assert_non_null(strstr(s, "\n1 warning.\n"));
}

static void test_notes_are_short_and_last(void **state)
{
    (void)state;
    add(DIAG_NOTE, "1,5x;25.114", 3, 1, 4);
    add(DIAG_NOTE, "1,5x;25.114", 4, 1, 4);
    add(DIAG_ERROR, "1,5x;25.114", 5, 1, 4);
    const char *s = shown(200, false);
    const char *note = "gate-freeze.csv:3:1-4 (A14): note: hold_time \"1,5x\" is not a number (2 "
                       "times); type the hold time without a letter behind it [not-a-number]\n\n"
                       "1 error, 1 note.\n";
    assert_non_null(strstr(s, note));
    assert_true(strstr(s, "error: ") < strstr(s, "note: "));
    assert_null(strstr(s, "    3 | "));
}

static void test_nothing_to_say(void **state)
{
    (void)state;
    assert_string_equal(shown(80, false), "");
}

/* The column in which the first caret stands, less that of the text above it. */
static long caret_under(const char *s, const char *cell)
{
    const char *source = strstr(s, " | ") + 3;
    const char *carets = strstr(source, " | ") + 3;
    const char *at = strstr(source, cell);
    assert_non_null(at);
    assert_true(at < carets);
    long columns = (long)utf8_columns(arena_copy_n(arena, source, (size_t)(at - source)));
    return columns - (long)strspn(carets, " ");
}

/* Columns count characters of the line as it is in the file; the line is shown harmless. */
static void test_caret_stands_under_the_cell(void **state)
{
    (void)state;
    static const struct {
        const char *raw;
        int from, to;
    } cases[] = {
        {"25.114;1,5x;ok", 8, 11},
        {"25.114\t1,5x\tok", 8, 11},
        {"\xc3\xbc\xe6\xb5\x81;1,5x", 4, 7},  /* an umlaut, a wide sign */
        {"e\xcc\x81;1,5x", 4, 7},             /* a combining accent */
        {"\x1b[2J;\xe2\x80\xae;1,5x", 8, 11}, /* an escape, a bidi mark */
    };
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        diag_init(&list, arena);
        add(DIAG_ERROR, text_harmless(arena, cases[i].raw, strlen(cases[i].raw)), 2, cases[i].from,
            cases[i].to);
        const char *s = shown(80, false);
        assert_int_equal(caret_under(s, "1,5x"), 0);
        assert_non_null(strstr(s, " ^^^^\n"));
    }
}

static void test_long_line_is_cut_around_the_cell(void **state)
{
    (void)state;
    struct text t;
    text_init(&t, arena);
    for (int i = 0; i < 100; i++)
        text_addf(&t, "%02d.25;", i);
    text_add(&t, "1,5x");
    for (int i = 0; i < 100; i++)
        text_addf(&t, ";%02d.25", i);
    add(DIAG_ERROR, t.s, 2, 601, 604);
    for (int width = 40; width <= 200; width++) {
        const char *s = shown(width, false);
        assert_int_equal(caret_under(s, "1,5x"), 0);
        assert_non_null(strstr(s, "^^^^\n"));
        for (const char *line = s; *line != '\0'; line += strcspn(line, "\n") + 1)
            assert_true(strcspn(line, "\n") <= (size_t)width);
        assert_non_null(strstr(s, "    2 | ..."));
        assert_non_null(strstr(s, "...\n"));
    }
}

static void test_place_that_is_not_known(void **state)
{
    (void)state;
    struct diag d = {.severity = DIAG_ERROR, .code = "empty-file", .message = "the file is empty"};
    diag_add(&list, &d, NULL);
    d.file = "clamp.csv";
    diag_add(&list, &d, &(struct diag_place){.line = 7});
    d.file = "runs.csv";
    diag_add(&list, &d, &(struct diag_place){.line = 0});
    assert_string_equal(shown(80, false), "error: the file is empty\n"
                                          "  more: plateau explain empty-file\n\n"
                                          "clamp.csv:7: error: the file is empty\n"
                                          "  more: plateau explain empty-file\n\n"
                                          "runs.csv: error: the file is empty\n"
                                          "  more: plateau explain empty-file\n\n"
                                          "3 errors.\n");
}

static void test_kinds_beyond_the_limit_are_counted(void **state)
{
    (void)state;
    for (int i = 0; i < 53; i++) {
        struct diag d = {.severity = DIAG_ERROR,
                         .code = arena_printf(arena, "code-%d", i),
                         .file = "a.csv",
                         .message = "wrong"};
        diag_add(&list, &d, NULL);
    }
    assert_non_null(strstr(shown(80, false), "\n53 errors; 3 of them are not shown.\n"));
}

static void test_hostile_text(void **state)
{
    (void)state;
    struct diag d = {.severity = DIAG_ERROR,
                     .code = sample_hostile_text,
                     .file = sample_hostile_text,
                     .column = "x",
                     .message = sample_hostile_text,
                     .expected = sample_hostile_text,
                     .remedy = sample_hostile_text};
    diag_add(&list, &d, &(struct diag_place){3, 2, 5, "B3", sample_hostile_text});
    d.severity = DIAG_NOTE;
    diag_add(&list, &d, &(struct diag_place){3, 2, 900, "B3", sample_hostile_text});
    for (const char *s = shown(60, false); *s != '\0'; s++)
        assert_true(*s == '\n' || (*s >= 0x20 && *s < 0x7f));
    const char *colored = shown(60, true);
    assert_non_null(strstr(colored, "\x1b[1m"));
}

/* ---- how each file was read ---- */

static void test_reading(void **state)
{
    (void)state;
    struct analysis x;
    struct text t;
    sample_analysis(arena, &x);
    text_init(&t, arena);
    report_reading(&t, x.premises, &(struct terminal_style){80, false, NULL});
    assert_string_equal(
        t.s, "How each file was read\n"
             "\n"
             "trial.ini\n"
             "  UTF-8\n"
             "  7 keys are set\n"
             "\n"
             "gate-freeze.csv: study gate-freeze\n"
             "  UTF-8 with byte order mark, separator semicolon, decimal mark comma, one\n"
             "    column, header in line 3, units in line 4\n"
             "  units: hold_time s, weight g\n"
             "  26 rows read, 23 kept, 3 left out\n"
             "  above the header: \"Freeze study, night shift\"\n"
             "  columns that no study reads: \"Operator\"\n"
             "  changed or assumed to read it:\n"
             "    a unit behind the number was read and taken off, column weight (line 8)\n"
             "      [unit-in-cell]\n"
             "    the decimal mark is a comma, 52 times (lines 5, 6, 7, ...) [decimal-comma]\n"
             "  left out by the author of the file:\n"
             "    line 18: part fell on the floor\n"
             "  left out by the reader:\n"
             "    line 30: average row\n"
             "\n"
             "hold-window.csv: study hold-window\n"
             "  Windows-1252, separator comma, decimal mark point, one column, header in line\n"
             "    1\n"
             "  units: hold_pressure bar, melt_temperature degC\n"
             "  30 rows read, 30 kept, 0 left out\n"
             "\n"
             "To be analyzed: gate-freeze, hold-window.\n"
             "CSV files of the folder that no study reads: notes.csv.\n");
}

/* An entry table that was not filled in is one line, not one for each row. */
static void test_rows_without_a_reading_are_one_line(void **state)
{
    (void)state;
    struct premises_record records[32];
    for (long i = 0; i < 32; i++)
        records[i] = (struct premises_record){
            .line = 20 + i, .left_out = i != 27, .reason = "no reading of weight"};
    struct facts facts = {.n = 0};
    struct premises_file files[] = {
        {.name = "trial.ini", .study = ""},
        {.name = "gate-freeze.csv", .study = "gate-freeze", .records = records, .n_records = 32}};
    const struct premises p = {.facts = &facts, .files = files, .n_files = 2};
    struct text t;
    text_init(&t, arena);
    report_reading(&t, &p, &(struct terminal_style){80, false, NULL});
    assert_non_null(strstr(t.s, "trial.ini\n  no key is set: defaults stand everywhere\n"));
    assert_non_null(strstr(t.s, "  left out by the reader:\n"
                                "    lines 20 to 46: no reading of weight\n"
                                "    lines 48 to 51: no reading of weight\n\n"));
    for (long i = 0; i < 32; i++)
        records[i].line = 20 + 2 * i;
    text_init(&t, arena);
    report_reading(&t, &p, &(struct terminal_style){80, false, NULL});
    assert_non_null(strstr(t.s, "    line 38: no reading of weight\n    and 21 more\n"));
}

static void test_reading_hostile(void **state)
{
    (void)state;
    struct analysis x;
    struct text t;
    sample_analysis_hostile(arena, &x);
    for (int width = 40; width <= 200; width += 5) {
        text_init(&t, arena);
        report_reading(&t, x.premises, &(struct terminal_style){width, false, NULL});
        for (const char *s = t.s; *s != '\0'; s++)
            assert_true(*s == '\n' || (*s >= 0x20 && *s < 0x7f));
        for (const char *line = t.s; *line != '\0'; line += strcspn(line, "\n") + 1)
            assert_true(strcspn(line, "\n") <= (size_t)width);
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_list, free_arena)
    const struct CMUnitTest tests[] = {
        TEST(test_one_error),
        TEST(test_many_of_a_kind),
        TEST(test_notes_are_short_and_last),
        TEST(test_nothing_to_say),
        TEST(test_caret_stands_under_the_cell),
        TEST(test_long_line_is_cut_around_the_cell),
        TEST(test_place_that_is_not_known),
        TEST(test_kinds_beyond_the_limit_are_counted),
        TEST(test_hostile_text),
        TEST(test_reading),
        TEST(test_rows_without_a_reading_are_one_line),
        TEST(test_reading_hostile),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
