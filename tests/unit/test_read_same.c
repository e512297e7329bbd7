/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One set of readings in many spellings must give one table, whatever the chunks it is fed in; and
 * damaged files do no harm. */
#include "read_cases.h"
#include "read/records.h"

/* ---- one set of readings, many spellings ---------------------------------------------------- */

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
        case_load(a, "t.csv", bytes, n, 0, NULL, &t, &diags);
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

/* ---- records -------------------------------------------------------------------------------- */

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

/* ---- damaged files -------------------------------------------------------------------------- */

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
        case_load(a, "t.csv", exact, n, i % 4 == 3 ? 1 : 0,
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
        cmocka_unit_test(damaged_files_do_no_harm),
    };
    return cmocka_run_group_tests_name("spellings", tests, NULL, NULL);
}
