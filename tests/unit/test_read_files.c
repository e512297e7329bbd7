/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the cases of single files do not show: places, steps, records kept, limits of size, the mark
 * settled by another file, several files of a study. */
#include "read/limits.h"
#include "read/table.h"
#include "read/table_join.h"
#include "read_cases.h"

/* ---- places --------------------------------------------------------------------------------- */

static void errors_are_located(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    case_load_text(
        a,
        "Title\r\n\r\nnote,hold_time [s],weight [g]\r\n\"two\r\nlines\",1,10.5\r\n\xC2\xB5,2,"
        "heavy\r\n\xC2\xB5\xC2\xB5,3,light\r\n,4,a\r\n,5,b\r\n",
        0, &t, &diags);
    const struct diag *d = case_find(&diags, "not-a-number");
    assert_non_null(d);
    assert_int_equal(d->count, 4);
    assert_string_equal(d->file, "t.csv");
    assert_string_equal(d->column, "weight");
    assert_int_equal(d->places[0].line, 6);
    assert_int_equal(d->places[0].column_from, 5);
    assert_int_equal(d->places[0].column_to, 9);
    assert_string_equal(d->places[0].address,
                        "C5"); /* rows of a sheet: a cell may hold two lines */
    assert_string_equal(d->places[0].source, "\xC2\xB5,2,heavy");
    assert_int_equal(d->places[1].line, 7);
    assert_int_equal(d->places[1].column_from, 6);
    assert_int_equal(d->places[2].line, 8);
    /* and the cells of the table know their lines */
    assert_int_equal(t.rows[0].line, 4);
    assert_int_equal(t.rows[0].cells[table_find(&t, "weight", 0)].line, 5);
    assert_int_equal(t.sources[0].header_line, 3);
    assert_int_equal(t.sources[0].n_preamble, 1);
    assert_string_equal(t.sources[0].preamble[0], "Title");
    arena_free(a);
}

static void open_quote_is_told_where_it_opens(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    case_load_text(a, "hold_time [s],weight [g],note\n1,10.5,x\n2,11.5,\"y\n3,heavy,z\n", 0, &t,
                   &diags);
    const struct diag *d = case_find(&diags, "open-quote");
    assert_non_null(d);
    assert_int_equal(d->places[0].line, 3);
    assert_int_equal(d->places[0].column_from, 8);
    assert_non_null(case_find(&diags, "not-a-number")); /* what is below is looked at too */
    arena_free(a);
}

static void missing_column_names_the_nearest(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    case_load_text(a, "hold_time [s],weihgt\n1,10.5\n", 0, &t, &diags);
    const struct diag *d = case_find(&diags, "missing-column");
    assert_non_null(d);
    assert_non_null(strstr(d->expected, "weihgt"));
    assert_non_null(strstr(d->remedy, "weights.weight = weihgt"));
    arena_free(a);
}

/* ---- what the source tells ------------------------------------------------------------------ */

/* What a number format adds at the end of every reading goes when a spreadsheet saves the file, and
 * no finding may hang on it. */
static void zeros_at_the_end_are_no_step(void **state)
{
    static const struct {
        const char *csv;
        double hold_time, weight;
    } cases[] = {
        {"hold_time [s];weight [g]\n6,5;4,203\n6;4,21\n4,25;4,2\n", 0.01, 0.001},
        {"hold_time [s];weight [g]\n6,500;4,203000\n6,000;4,210000\n4,250;4,200000\n", 0.01, 0.001},
        {"hold_time [s];weight [g]\n6,0;4,200\n5,0;4,210\n4,0;4,230\n", 1.0, 0.01},
        /* two values tell nothing: a cushion may stand at 5.0 for a whole shift */
        {"hold_time [s];weight [g]\n6,0;4,200\n6,0;4,210\n4,0;4,200\n", 0.1, 0.001},
        {"hold_time [s];weight [g]\n60;4,00E+1\n20;4,10E+1\n10;4,20E+1\n", 1.0, 1.0},
        {"hold_time [s];weight [g]\n6;4,000001\n5;4,000003\n4;4,000002\n", 1.0, 1e-6},
        /* digits that no double holds, as some programs write them */
        {"hold_time [s];weight "
         "[g]\n6;4,2030000000000003\n5;4,1799999999999997\n4;0,56000000000000005\n",
         1.0, 0.001},
        {"hold_time [s];weight [g]\n6;4,2030000000000003\n5;4,2030000000000003\n", 1.0, 1e-14},
    };
    (void)state;
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        struct arena *a = arena_new();
        struct diag_list diags;
        struct table t;
        case_load_text(a, cases[i].csv, 0, &t, &diags);
        assert_int_equal(diags.errors, 0);
        assert_lre(t.columns[table_find(&t, "hold_time", 0)].step, cases[i].hold_time, 14);
        assert_lre(t.columns[table_find(&t, "weight", 0)].step, cases[i].weight, 14);
        arena_free(a);
    }
}

static void steps_come_from_the_digits(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    case_load_text(a, "hold_time [ms];weight [kg];cushion [in]\n1000;1,25;2\n2500;1,5;3\n", 0, &t,
                   &diags);
    assert_int_equal(diags.errors, 0);
    assert_lre(t.columns[table_find(&t, "hold_time", 0)].step, 0.001, 14);
    assert_lre(t.columns[table_find(&t, "weight", 0)].step, 10.0, 14);
    assert_lre(t.columns[table_find(&t, "cushion", 0)].step, 25.4, 14);
    assert_string_equal(t.columns[table_find(&t, "cushion", 0)].unit->spelling, "in");
    arena_free(a);
}

static void raw_records_are_kept(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    case_load_text(
        a, "hold_time [s],weight [g],exclude,extra\n1,n/a,,q\n,11.5,dropped,\n2,12,,\nmean,11,,\n",
        0, &t, &diags);
    const struct source *s = &t.sources[0];
    assert_int_equal(s->n_header_cells, 4);
    assert_string_equal(s->header_cells[3], "extra");
    assert_int_equal(s->n_unused, 1);
    assert_string_equal(s->unused[0], "extra");
    assert_int_equal(s->n_records, 4);
    assert_string_equal(s->records[0].cells[1], "n/a");
    assert_true(s->records[0].repaired[1]);
    assert_true(s->records[0].left_out);
    assert_string_equal(s->records[0].reason, "no reading of weight");
    assert_string_equal(s->records[1].cells[0], ""); /* as it stood, not as it was filled */
    assert_string_equal(s->records[1].reason, "dropped");
    assert_false(s->records[2].left_out);
    assert_true(s->records[3].left_out);
    assert_int_equal(s->rows_read, 4);
    assert_int_equal(s->rows_used, 1);
    const struct repair *r = case_repair(&t, "summary-row");
    assert_non_null(r);
    assert_int_equal(r->lines[0], 5);
    arena_free(a);
}

static void digest_is_that_of_the_bytes(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    case_load_text(a, "abc", 0, &t, &diags);
    /* FIPS 180-2, appendix B.1 */
    assert_string_equal(t.sources[0].sha256,
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_int_equal(t.sources[0].bytes, 3);
    arena_free(a);
}

/* ---- decimal mark from another file --------------------------------------------------------- */

static void hint_settles_what_the_file_leaves_open(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    struct error e = {.code = ERR_NONE};
    static const char open[] = "hold_time [s];weight [g]\n1;1,234\n2;1,235\n";
    static const char comma[] = "hold_time [s];weight [g]\n1;1,5\n";
    static const char point[] = "hold_time [s];weight [g]\n1;1.5\n";
    static const char none[] = "hold_time [s];weight [g]\n1;2\n";
    static const char mixed[] = "hold_time [s];weight [g]\n1.5;2,5\n";
    const struct study_input *s = &case_studies[0];
    assert_int_equal(table_decimal(a, "x", open, strlen(open), s, NULL), TABLE_DECIMAL_EITHER);
    assert_int_equal(table_decimal(a, "x", comma, strlen(comma), s, NULL), TABLE_DECIMAL_COMMA);
    assert_int_equal(table_decimal(a, "x", point, strlen(point), s, NULL), TABLE_DECIMAL_POINT);
    assert_int_equal(table_decimal(a, "x", none, strlen(none), s, NULL), TABLE_DECIMAL_NONE);
    assert_int_equal(table_decimal(a, "x", mixed, strlen(mixed), s, NULL), TABLE_DECIMAL_MIXED);
    assert_int_equal(table_decimal(a, "x", "", 0, s, NULL), TABLE_DECIMAL_NONE);
    for (int mark = MARK_POINT; mark <= MARK_COMMA; mark++) {
        const struct table_hint hint = {(enum decimal_mark)mark, "other.csv"};
        diag_init(&diags, a);
        assert_int_equal(table_read(a, "x", open, strlen(open), s, NULL, &hint, &t, &diags, &e),
                         ERR_NONE);
        /* thousands are not taken from another file: the marks may come from two hands */
        if (mark == MARK_POINT)
            assert_non_null(case_find(&diags, "decimal-undecided"));
        if (mark == MARK_COMMA) {
            assert_int_equal(diags.errors, 0);
            assert_non_null(strstr(case_repair(&t, "decimal-from-other-file")->text, "other.csv"));
            assert_lre(t.rows[0].cells[1].value, 1.234, 15);
        }
        /* a file that is settled does not look at the hint */
        assert_int_equal(table_read(a, "x", comma, strlen(comma), s, NULL, &hint, &t, &diags, &e),
                         ERR_NONE);
        assert_lre(t.rows[0].cells[1].value, 1.5, 15);
        assert_null(case_repair(&t, "decimal-from-other-file"));
    }
    arena_free(a);
}

/* ---- limits --------------------------------------------------------------------------------- */

static char *repeated(struct arena *a, const char *head, const char *piece, size_t n,
                      const char *tail)
{
    struct text t;
    text_init(&t, a);
    text_add(&t, head);
    while (n-- > 0)
        text_add(&t, piece);
    text_add(&t, tail);
    return t.s;
}

static const struct diag *refused(struct arena *a, const char *s, const char *code)
{
    struct diag_list *diags = ARENA_NEW(a, struct diag_list);
    struct table t;
    case_load_text(a, s, 0, &t, diags);
    return case_find(diags, code);
}

#define HEAD "hold_time [s],weight [g],note\n"

static void limits_are_kept(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    struct table t;
    diag_init(&diags, a);
    /* cells */
    assert_null(refused(a, repeated(a, HEAD "1,2,", "x", LIMIT_CELL_BYTES, "\n"), "cell-too-long"));
    const struct diag *d = refused(
        a, repeated(a, HEAD "1,2,3\n1,2,", "x", LIMIT_CELL_BYTES + 1, "\n"), "cell-too-long");
    assert_non_null(d);
    assert_int_equal(d->places[0].line, 3);
    assert_non_null(
        refused(a, repeated(a, HEAD "1,2,\"", "x", LIMIT_CELL_BYTES + 1, "\"\n"), "cell-too-long"));
    /* rows */
    assert_null(
        refused(a, repeated(a, HEAD "1,2,", ",", LIMIT_ROW_CELLS - 3, "\n"), "row-too-long"));
    assert_non_null(
        refused(a, repeated(a, HEAD "1,2,", ",", LIMIT_ROW_CELLS - 2, "\n"), "row-too-long"));
    /* broken rows */
    d = refused(a, repeated(a, HEAD, "1,2,x\"y\n", 30, ""), "too-many-broken-rows");
    assert_non_null(d);
    assert_int_equal(d->places[0].line, LIMIT_OPEN_QUOTES + 1);
    /* the file: the bytes are not touched */
    assert_int_equal(table_load_bytes(a, "t.csv", "x", LIMIT_FILE_BYTES + 1, &case_studies[0], NULL,
                                      &t, &diags, &e),
                     ERR_NONE);
    assert_non_null(case_find(&diags, "file-too-large"));
    arena_free(a);
}

static void table_size_is_limited(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    struct text s;
    text_init(&s, a);
    text_add(&s, "shot,hold_time [s],cavity,weight [g]\n");
    for (int i = 1; i <= 34000; i++)
        text_addf(&s, "%d,1,%d,1\n", i, i % 999 + 1);
    case_load_text(a, s.s, 0, &t, &diags);
    assert_non_null(case_find(&diags, "table-too-large"));
    arena_free(a);
}

static void repeated_trouble_is_counted(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const struct diag *d = refused(a, repeated(a, HEAD, "1,heavy,\n", 5000, ""), "not-a-number");
    assert_non_null(d);
    assert_int_equal(d->count, 5000);
    assert_int_equal(d->places[2].line, 4);
    arena_free(a);
}

/* ---- several files of a study --------------------------------------------------------------- */

static void join_by_shot_number(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table parts[2], t;
    case_load_text(a, "shot,hold_time [s],weight [g]\n4,2,12.5\n1,1,10.5\n", 0, &parts[0], &diags);
    case_load_text(a,
                   "shot;weight [kg];hold_time [s];cushion [mm]\n3;0,0125;1,5;5\n2;0,011;1,0;6\n",
                   0, &parts[1], &diags);
    table_join(a, parts, 2, &t, &diags);
    assert_int_equal(diags.errors, 0);
    assert_string_equal(
        case_dump(a, &t, false),
        "hold_time:0 weight:0 cushion:0\n1 1 10.5 ?\n2 1 11 6\n3 1.5 12.5 5\n4 2 12.5 ?");
    assert_true(t.has_shot_numbers);
    assert_int_equal(t.rows[1].source, 1);
    assert_int_equal(t.n_sources, 2);
    assert_string_equal(t.columns[table_find(&t, "weight", 0)].unit->spelling, "g");
    arena_free(a);
}

static void join_in_file_order(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table parts[2], t;
    case_load_text(a, "shot,hold_time [s],weight [g]\n2,2,12.5\n1,1,10.5\n", 0, &parts[0], &diags);
    case_load_text(a, "shot,hold_time [s],weight [g]\n1,3,13.5\n2,4,14.5\n", 0, &parts[1], &diags);
    table_join(a, parts, 2, &t, &diags);
    assert_int_equal(diags.errors, 0);
    assert_string_equal(case_dump(a, &t, false),
                        "hold_time:0 weight:0\n1 1 10.5\n2 2 12.5\n3 3 13.5\n4 4 14.5");
    assert_false(t.has_shot_numbers);
    assert_non_null(case_repair(&t, "files-in-order"));
    arena_free(a);
}

static void the_same_file_twice_is_refused(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table parts[2], t;
    case_load_text(a, "hold_time [s],weight [g]\n2,12.5\n", 0, &parts[0], &diags);
    case_load_text(a, "hold_time [s],weight [g]\n2,12.5\n", 0, &parts[1], &diags);
    table_join(a, parts, 2, &t, &diags);
    assert_non_null(case_find(&diags, "same-file-twice"));
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(zeros_at_the_end_are_no_step),
        cmocka_unit_test(errors_are_located),
        cmocka_unit_test(open_quote_is_told_where_it_opens),
        cmocka_unit_test(missing_column_names_the_nearest),
        cmocka_unit_test(steps_come_from_the_digits),
        cmocka_unit_test(raw_records_are_kept),
        cmocka_unit_test(digest_is_that_of_the_bytes),
        cmocka_unit_test(hint_settles_what_the_file_leaves_open),
        cmocka_unit_test(limits_are_kept),
        cmocka_unit_test(table_size_is_limited),
        cmocka_unit_test(repeated_trouble_is_counted),
        cmocka_unit_test(join_by_shot_number),
        cmocka_unit_test(join_in_file_order),
        cmocka_unit_test(the_same_file_twice_is_refused),
    };
    return cmocka_run_group_tests_name("files", tests, NULL, NULL);
}
