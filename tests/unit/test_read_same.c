/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One set of readings in many spellings must give one table; and what the cases of single files do
 * not show: places, steps, limits of size, several files of a study. */
#include "read_cases.h"
#include "read/limits.h"
#include "read/records.h"
#include "read/table.h"
#include "read/table_join.h"

static const struct diag *case_find(const struct diag_list *l, const char *code)
{
    for (size_t i = 0; i < l->n; i++)
        if (strcmp(l->items[i].code, code) == 0)
            return &l->items[i];
    return NULL;
}

static const struct repair *case_repair(const struct table *t, const char *code)
{
    for (size_t i = 0; i < t->sources[0].n_repairs; i++)
        if (strcmp(t->sources[0].repairs[i].code, code) == 0)
            return &t->sources[0].repairs[i];
    return NULL;
}

/* ---- one set of readings, many spellings
 * ------------------------------------------------------------- */

enum layout { WIDE, LONG, LONG_SHUFFLED };

struct spelling {
    char separator;
    char mark;
    const char *line_end;
    const char *encoding; /* "", "bom", "16le", "16be", "16le-bare", "1252" */
    enum layout layout;
    const char *time_unit, *weight_unit;
    bool quote_all, units_row;
};

static const double hold[] = {1.5, 1.5, 2.5, 2.5, 3.25, 4.0};
static const double weight[][2] = {{12.125, 12.25}, {12.13, 12.26}, {12.5, 12.75},
                                   {12.51, 12.76},  {12.625, 13.0}, {12.63, 13.01}};

static double per_unit(const char *unit)
{
    return strcmp(unit, "ms") == 0 ? 1e3 : strcmp(unit, "kg") == 0 ? 1e-3 : 1.0;
}

static void put_cell(struct text *t, const struct spelling *s, const char *cell, bool last)
{
    bool quote = s->quote_all || strchr(cell, s->separator) != NULL;
    text_add(t, quote ? "\"" : "");
    text_add(t, cell);
    text_add(t, quote ? "\"" : "");
    text_add_n(t, last ? s->line_end : &s->separator, last ? strlen(s->line_end) : 1);
}

static void put_number(struct text *t, const struct spelling *s, double v, bool last)
{
    char cell[64];
    snprintf(cell, sizeof cell, "%.12g", v);
    for (char *p = cell; *p != '\0'; p++)
        if (*p == '.')
            *p = s->mark;
    put_cell(t, s, cell, last);
}

/* "weight c1 [g]", or "weight c1" where a units row follows */
static void put_name(struct text *t, const struct spelling *s, const char *name, const char *unit)
{
    char cell[64];
    snprintf(cell, sizeof cell, "%s%s%s%s", name, s->units_row ? "" : " [",
             s->units_row ? "" : unit, s->units_row ? "" : "]");
    put_cell(t, s, cell, false);
}

static void put_header(struct text *t, const struct spelling *s)
{
    put_cell(t, s, "shot", false);
    put_name(t, s, "hold_time", s->time_unit);
    if (s->layout == WIDE)
        put_name(t, s, "weight c2", s->weight_unit);
    else
        put_cell(t, s, "cavity", false);
    put_name(t, s, s->layout == WIDE ? "weight c1" : "weight", s->weight_unit);
    put_cell(t, s, "note", true);
    if (!s->units_row)
        return;
    put_cell(t, s, "", false);
    put_cell(t, s, s->time_unit, false);
    put_cell(t, s, s->layout == WIDE ? s->weight_unit : "", false);
    put_cell(t, s, s->weight_unit, false);
    put_cell(t, s, "", true);
}

static void put_row(struct text *t, const struct spelling *s, size_t shot, int cavity)
{
    double w = per_unit(s->weight_unit);
    put_number(t, s, (double)shot + 1.0, false);
    put_number(t, s, hold[shot] * per_unit(s->time_unit), false);
    if (s->layout == WIDE)
        put_number(t, s, weight[shot][1] * w, false);
    else
        put_number(t, s, cavity + 1, false);
    put_number(t, s, weight[shot][s->layout == WIDE ? 0 : cavity] * w, false);
    put_cell(t, s, "5 \xC2\xB5m", true);
}

static char *spell(struct arena *a, const struct spelling *s)
{
    struct text t;
    text_init(&t, a);
    put_header(&t, s);
    if (s->layout == WIDE)
        for (size_t i = 0; i < PL_COUNT(hold); i++)
            put_row(&t, s, i, 0);
    for (size_t i = 0; s->layout == LONG && i < 2 * PL_COUNT(hold); i++)
        put_row(&t, s, i / 2, (int)(i % 2));
    for (size_t i = 0; s->layout == LONG_SHUFFLED && i < 2 * PL_COUNT(hold); i++) {
        size_t j = (5 * i + 3) % (2 * PL_COUNT(hold));
        put_row(&t, s, j / 2, (int)(j % 2));
    }
    return t.s;
}

/* The text holds nothing beyond U+00FF. */
static char *encode(struct arena *a, const char *s, const char *encoding, size_t *n)
{
    struct text t;
    text_init(&t, a);
    bool wide = encoding[0] == '1' && encoding[1] == '6', big = wide && encoding[2] == 'b';
    if (wide && strcmp(encoding, "16le-bare") != 0)
        text_add_n(&t, big ? "\xFE\xFF" : "\xFF\xFE", 2);
    if (strcmp(encoding, "bom") == 0)
        text_add(&t, "\xEF\xBB\xBF");
    size_t length = strlen(s), size;
    for (size_t i = 0; i < length; i += size) {
        unsigned cp = 0;
        size = utf8_next(s + i, length - i, &cp);
        char low = (char)(unsigned char)cp;
        if (wide)
            text_add_n(&t, big ? (char[]){0, low} : (char[]){low, 0}, 2);
        else if (strcmp(encoding, "1252") == 0)
            text_add_char(&t, low);
        else
            text_add_n(&t, s + i, size);
    }
    *n = t.length;
    return t.s;
}

/* Rows only: wide and long list their columns in another order. */
static char *rows_only(struct arena *a, const struct table *t)
{
    struct text s;
    text_init(&s, a);
    int time = table_find(t, "hold_time", 0), c1 = table_find(t, "weight", 1),
        c2 = table_find(t, "weight", 2);
    assert_true(time >= 0 && c1 >= 0 && c2 >= 0);
    for (size_t i = 0; i < t->n_rows; i++) {
        const int columns[] = {time, c1, c2};
        assert_true(table_row_has(t, i, columns, 3));
        const struct cell *c = t->rows[i].cells;
        text_addf(&s, "%g %.10g %.10g %.10g %s\n", t->rows[i].order, c[time].value, c[c1].value,
                  c[c2].value, t->rows[i].note);
    }
    return s.s;
}

static void load(struct arena *a, const char *name, const char *bytes, size_t n, int study,
                 const char *facts, struct table *t, struct diag_list *diags)
{
    struct error e = {.code = ERR_NONE};
    struct facts f;
    diag_init(diags, a);
    case_facts(a, facts, &f);
    struct facts *kept = ARENA_NEW(a, struct facts);
    *kept = f;
    assert_int_equal(table_load_bytes(a, name, bytes, n, &case_studies[study], kept, t, diags, &e),
                     ERR_NONE);
}

static void load_text(struct arena *a, const char *s, int study, struct table *t,
                      struct diag_list *diags)
{
    load(a, "t.csv", s, strlen(s), study, NULL, t, diags);
}

static void every_spelling_gives_one_table(void **state)
{
    (void)state;
    static const char separators[] = ",;\t|";
    static const char *const line_ends[] = {"\n", "\r\n", "\r"};
    static const char *const encodings[] = {"", "bom", "16le", "16be", "16le-bare", "1252"};
    static const char *const units[][2] = {{"s", "g"}, {"ms", "g"}, {"s", "kg"}};
    char want[1024] = "";
    size_t tried = 0;
    /* every seventh: all pairs of properties meet */
    for (size_t v = 0; v < 4 * 2 * 3 * 6 * 3 * 3 * 2 * 2; v += 7) {
        size_t x = v;
        struct spelling s = {.separator = separators[x % 4]};
        s.mark = (x /= 4) % 2 ? ',' : '.';
        s.line_end = line_ends[(x /= 2) % 3];
        s.encoding = encodings[(x /= 3) % 6];
        s.layout = (enum layout)((x /= 6) % 3);
        s.time_unit = units[(x /= 3) % 3][0];
        s.weight_unit = units[x % 3][1];
        s.quote_all = (x /= 3) % 2;
        s.units_row = (x / 2) % 2;
        struct arena *a = arena_new();
        struct diag_list diags;
        struct table t;
        size_t n;
        char *bytes = encode(a, spell(a, &s), s.encoding, &n);
        load(a, "t.csv", bytes, n, 0, NULL, &t, &diags);
        assert_int_equal(diags.errors, 0);
        char *got = rows_only(a, &t);
        if (tried++ == 0)
            snprintf(want, sizeof want, "%s", got);
        assert_string_equal(got, want);
        assert_string_equal(t.sources[0].decimal, s.mark == ',' ? "comma" : "point");
        assert_int_equal(t.cavities, 2);
        assert_true(t.has_shot_numbers);
        arena_free(a);
    }
    assert_string_equal(want, "1 1.5 12.125 12.25 5 \xC2\xB5m\n2 1.5 12.13 12.26 5 \xC2\xB5m\n"
                              "3 2.5 12.5 12.75 5 \xC2\xB5m\n4 2.5 12.51 12.76 5 \xC2\xB5m\n"
                              "5 3.25 12.625 13 5 \xC2\xB5m\n6 4 12.63 13.01 5 \xC2\xB5m\n");
}

/* ---- records
 * --------------------------------------------------------------------------------------------- */

static void chunk_size_changes_nothing(void **state)
{
    (void)state;
    static const char text[] =
        "a,\"b \"\"c\"\"\nd\" , e\r\n\r\n,,\n\"\"\n#x \"y\n  lead,trail  \n1,2,3";
    struct arena *a = arena_new();
    struct records want, got;
    struct error e = {.code = ERR_NONE};
    size_t n = strlen(text);
    assert_int_equal(records_read(a, text, n, 0, 1, ',', 0, &want, &e), ERR_NONE);
    assert_int_equal(want.n, 7);
    assert_string_equal(want.items[0].cells[1], "b \"c\"\nd");
    assert_string_equal(want.items[5].cells[1], "trail");
    assert_int_equal(want.items[1].line, 3);
    assert_int_equal(want.items[1].n_cells, 0);
    for (size_t chunk = 1; chunk <= n; chunk++) {
        assert_int_equal(records_read(a, text, n, 0, 1, ',', chunk, &got, &e), ERR_NONE);
        assert_int_equal(got.n, want.n);
        for (size_t i = 0; i < want.n; i++) {
            assert_int_equal(got.items[i].n_cells, want.items[i].n_cells);
            assert_int_equal(got.items[i].line, want.items[i].line);
            for (size_t k = 0; k < want.items[i].n_cells; k++)
                assert_string_equal(got.items[i].cells[k], want.items[i].cells[k]);
        }
    }
    arena_free(a);
}

static void spans_are_found_again(void **state)
{
    (void)state;
    static const char text[] = "x\n \"a\r\nb\" ,  cd ,\"\",e\n";
    struct arena *a = arena_new();
    struct records r;
    struct error e = {.code = ERR_NONE};
    assert_int_equal(records_read(a, text, strlen(text), 0, 1, ',', 0, &r, &e), ERR_NONE);
    static const char *const want[] = {"\"a\r\nb\"", "cd", "\"\"", "e"};
    static const long lines[] = {2, 3, 3, 3};
    for (size_t k = 0; k < 4; k++) {
        struct cell_span s = record_span(text, &r.items[1], ',', k);
        assert_int_equal(s.to - s.from, strlen(want[k]));
        assert_memory_equal(text + s.from, want[k], strlen(want[k]));
        assert_int_equal(s.line, lines[k]);
    }
    arena_free(a);
}

/* ---- places
 * ------------------------------------------------------------------------------------------------
 */

static void errors_are_located(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    load_text(a,
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
    load_text(a, "hold_time [s],weight [g],note\n1,10.5,x\n2,11.5,\"y\n3,heavy,z\n", 0, &t, &diags);
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
    load_text(a, "hold_time [s],weihgt\n1,10.5\n", 0, &t, &diags);
    const struct diag *d = case_find(&diags, "missing-column");
    assert_non_null(d);
    assert_non_null(strstr(d->expected, "weihgt"));
    assert_non_null(strstr(d->remedy, "weights.weight = weihgt"));
    arena_free(a);
}

/* ---- what the source tells
 * ------------------------------------------------------------------------------- */

static void steps_come_from_the_digits(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table t;
    load_text(a, "hold_time [ms];weight [kg];cushion [in]\n1000;1,25;2\n2500;1,5;3\n", 0, &t,
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
    load_text(
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
    load_text(a, "abc", 0, &t, &diags);
    /* FIPS 180-2, appendix B.1 */
    assert_string_equal(t.sources[0].sha256,
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_int_equal(t.sources[0].bytes, 3);
    arena_free(a);
}

/* ---- decimal mark from another file
 * ---------------------------------------------------------------------- */

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
        assert_int_equal(diags.errors, 0);
        assert_non_null(strstr(case_repair(&t, "decimal-from-other-file")->text, "other.csv"));
        assert_lre(t.rows[0].cells[1].value, mark == MARK_POINT ? 1234.0 : 1.234, 15);
        /* a file that is settled does not look at the hint */
        assert_int_equal(table_read(a, "x", comma, strlen(comma), s, NULL, &hint, &t, &diags, &e),
                         ERR_NONE);
        assert_lre(t.rows[0].cells[1].value, 1.5, 15);
        assert_null(case_repair(&t, "decimal-from-other-file"));
    }
    arena_free(a);
}

/* ---- limits
 * ---------------------------------------------------------------------------------------------- */

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
    load_text(a, s, 0, &t, diags);
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
    load_text(a, s.s, 0, &t, &diags);
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

/* ---- several files of a study
 * ------------------------------------------------------------------------------ */

static void join_by_shot_number(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct table parts[2], t;
    load_text(a, "shot,hold_time [s],weight [g]\n4,2,12.5\n1,1,10.5\n", 0, &parts[0], &diags);
    load_text(a, "shot;weight [kg];hold_time [s];cushion [mm]\n3;0,0125;1,5;5\n2;0,011;1,0;6\n", 0,
              &parts[1], &diags);
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
    load_text(a, "shot,hold_time [s],weight [g]\n2,2,12.5\n1,1,10.5\n", 0, &parts[0], &diags);
    load_text(a, "shot,hold_time [s],weight [g]\n1,3,13.5\n2,4,14.5\n", 0, &parts[1], &diags);
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
    load_text(a, "hold_time [s],weight [g]\n2,12.5\n", 0, &parts[0], &diags);
    load_text(a, "hold_time [s],weight [g]\n2,12.5\n", 0, &parts[1], &diags);
    table_join(a, parts, 2, &t, &diags);
    assert_non_null(case_find(&diags, "same-file-twice"));
    arena_free(a);
}

/* ---- damaged files
 * --------------------------------------------------------------------------------------- */

/* Bytes of good files changed, dropped and doubled at random: no harm, and the counts agree. */
static void damaged_files_do_no_harm(void **state)
{
    (void)state;
    static const char *const seeds[] = {
        "Press 7\nshot,hold_time [s],weight c1 [g],weight c2 "
        "[g],exclude,note\n1,1.5,\"10.5\",11,,\"a,b\"\n"
        "2,,10.6,<11,x,\n# c\n\naverage,,10,11\n",
        "sep=;\nshot;hold_time;cavity;weight;defect\n;s;;g;\n1;1,5;1;1.234,5;ok\n1;1,5;2;25 "
        "g;flash\n",
        "\xFF\xFEs\0,\0h\0\n\0", "fill_time [s]\tmelt_pressure [bar]\tspeed [%]\r1\t500\t50\r"};
    static const char bytes[] = ",;\t|\"\"\n\r .#<-'0123456789eE%()[]\xC2\xB5\xB0\xFF\0x=:/";
    unsigned long long x = 88172645463325252ull;
    for (int i = 0; i < 4000; i++) {
        const char *seed = seeds[i % 4];
        size_t n = i % 4 == 2 ? 10 : strlen(seed);
        char damaged[512];
        memcpy(damaged, seed, n);
        for (int k = 0; k < 1 + i % 5; k++) {
            x ^= x << 13, x ^= x >> 7, x ^= x << 17;
            size_t at = x % n;
            char c = bytes[(x >> 20) % (sizeof bytes - 1)];
            if ((x >> 40) % 3 == 0 && n < 500) {
                memmove(damaged + at + 1, damaged + at, n - at);
                damaged[at] = c;
                n++;
            } else if ((x >> 40) % 3 == 1 && n > 1) {
                memmove(damaged + at, damaged + at + 1, n - at - 1);
                n--;
            } else {
                damaged[at] = c;
            }
        }
        char *exact = malloc(n);
        assert_non_null(exact);
        memcpy(exact, damaged, n);
        struct arena *a = arena_new();
        struct diag_list diags;
        struct table t;
        load(a, "t.csv", exact, n, i % 4 == 3 ? 1 : 0,
             i % 2 ? NULL : "press.max_injection_speed=200", &t, &diags);
        const struct source *s = &t.sources[0];
        assert_int_equal(s->rows_read, s->rows_used + s->rows_left_out);
        for (size_t r = 0; r < t.n_rows; r++)
            for (size_t k = 0; k < t.n_columns; k++)
                assert_true(t.rows[r].cells[k].kind == CELL_MISSING ||
                            isfinite(t.rows[r].cells[k].value));
        free(exact);
        arena_free(a);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_spelling_gives_one_table),
        cmocka_unit_test(chunk_size_changes_nothing),
        cmocka_unit_test(spans_are_found_again),
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
        cmocka_unit_test(damaged_files_do_no_harm),
    };
    return cmocka_run_group_tests_name("spellings", tests, NULL, NULL);
}
