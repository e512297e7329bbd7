/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tables as they arrive: every case of tests/faults is laid into a folder of its own, byte by byte,
 * and read by the program's own way in. What must be read, noted and refused stands in the case and
 * was worked out from the bytes by hand. */
#define _XOPEN_SOURCE 700 /* mkdtemp */
#include <dirent.h>
#include <unistd.h>

#include "cli/commands.h"
#include "fault_cases.h"

static struct fault_cases all;

/* ---- the folder ----------------------------------------------------------------------------- */

static void write_file(const char *folder, const char *name, const struct text *t)
{
    struct error e = {.code = ERR_NONE};
    assert_int_equal(report_write_file(folder, name, t->s, t->length, &e), ERR_NONE);
}

static const char *make_folder(struct arena *a, const struct fault_case *c)
{
    const char *top = getenv("TMPDIR");
    char *folder = arena_printf(a, "%s/plateau-faults-XXXXXX", top != NULL ? top : "/tmp");
    assert_non_null(mkdtemp(folder));
    for (size_t i = 0; i < c->n_files; i++)
        write_file(folder, c->files[i].name, &c->files[i].bytes);
    if (c->ini.length > 0)
        write_file(folder, "trial.ini", &c->ini);
    return folder;
}

static void remove_folder(struct arena *a, const char *folder)
{
    DIR *d = opendir(folder);
    for (struct dirent *entry; d != NULL && (entry = readdir(d)) != NULL;)
        if (entry->d_name[0] != '.')
            unlink(arena_printf(a, "%s/%s", folder, entry->d_name));
    if (d != NULL)
        closedir(d);
    rmdir(folder);
}

/* ---- what was told, in the spelling of the cases -------------------------------------------- */

static const char *reached[300];
static size_t n_reached;

static void reach(const char *code)
{
    size_t n;
    const struct code_text *known = read_codes(&n);
    for (size_t i = 0; i < n_reached; i++)
        if (strcmp(reached[i], code) == 0)
            return;
    for (size_t i = 0; i < n; i++)
        if (strcmp(known[i].code, code) == 0) {
            assert_true(n_reached < PL_COUNT(reached));
            reached[n_reached++] = known[i].code;
            return;
        }
    fail_msg("explain does not know %s", code);
}

static void add_detail(struct text *t, const char *word, const char *s)
{
    if (s == NULL)
        return;
    text_addf(t, "  %s ", word);
    for (; *s != '\0'; s++)
        text_add_char(t, *s);
    text_add_char(t, '\n');
}

/* error CODE COLUMN COUNT FILE:LINE:FROM-TO(ADDRESS) ... */
static void say_diag(struct text *t, const struct diag *d)
{
    static const char *const words[] = {"note", "warning", "error"};
    text_addf(t, "%s %s %s %zu", words[d->severity], d->code, d->column != NULL ? d->column : "-",
              d->count);
    for (size_t i = 0; i < d->count && i < PL_COUNT(d->places); i++) {
        const struct diag_place *p = &d->places[i];
        /* a folder of its own each time: `FOLDER` */
        text_addf(t, " %s", strstr(d->file, "plateau-faults-") != NULL ? "FOLDER" : d->file);
        if (p->line > 0)
            text_addf(t, ":%ld", p->line);
        if (p->column_from > 0)
            text_addf(t, ":%d-%d", p->column_from, p->column_to);
        if (p->address[0] != '\0')
            text_addf(t, "(%s)", p->address);
    }
    text_add_char(t, '\n');
    add_detail(t, "message", d->message);
    add_detail(t, "expected", d->expected);
    add_detail(t, "mend", d->remedy);
}

/* note CODE COLUMN COUNT LINES */
static void say_repair(struct text *t, const struct repair *r)
{
    text_addf(t, "note %s %s %zu", r->code, r->column != NULL ? r->column : "-", r->count);
    for (size_t i = 0; i < r->count && i < PL_COUNT(r->lines); i++)
        if (r->lines[i] > 0)
            text_addf(t, " %ld", r->lines[i]);
    text_add_char(t, '\n');
    add_detail(t, "message", r->text);
}

static void say_source(struct text *t, const struct source *s)
{
    for (size_t i = 0; i < s->n_repairs; i++) {
        reach(s->repairs[i].code);
        say_repair(t, &s->repairs[i]);
    }
    for (size_t i = 0; i < s->n_records; i++)
        if (s->records[i].left_out)
            text_addf(t, "out %ld %s\n", s->records[i].line, s->records[i].reason);
}

static void say_tables(struct text *t, const struct table *tables, size_t n)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < tables[i].n_sources; j++)
            say_source(t, &tables[i].sources[j]);
}

static void say_wanted(struct text *t, const struct fault_case *c)
{
    for (size_t i = 0; i < c->n_told; i++) {
        const struct fault_told *w = &c->told[i];
        text_addf(t, "%s\n", w->line);
        add_detail(t, "message", w->message);
        add_detail(t, "expected", w->expected);
        add_detail(t, "mend", w->mend);
    }
}

/* ---- how it was read ------------------------------------------------------------------------ */

static const char *list(struct arena *a, const char **items, size_t n)
{
    struct text t;
    text_init(&t, a);
    for (size_t i = 0; i < n; i++)
        text_addf(&t, "%s%s", i > 0 ? " / " : "", items[i]);
    return t.s;
}

/* The value of `how KEY ...`. */
static const char *how(struct arena *a, const struct source *s, const char *key)
{
    struct {
        const char *key, *value;
    } const values[] = {
        {"encoding", s->encoding},
        {"separator", s->separator},
        {"decimal", s->decimal},
        {"layout", s->layout},
        {"header", arena_printf(a, "%ld", s->header_line)},
        {"units", arena_printf(a, "%ld", s->units_line)},
        {"preamble", list(a, s->preamble, s->n_preamble)},
        {"unused", list(a, s->unused, s->n_unused)},
        {"rows", arena_printf(a, "%zu read %zu used %zu left out", s->rows_read, s->rows_used,
                              s->rows_left_out)},
    };
    for (size_t i = 0; i < PL_COUNT(values); i++)
        if (strcmp(values[i].key, key) == 0)
            return values[i].value;
    fail_msg("no such thing is known of a file: %s", key);
    return "";
}

static const char *said_of(const struct fault_case *c, const char *key)
{
    const char *rest;
    for (size_t i = 0; i < c->n_how; i++)
        if (fault_word(c->how[i], key, &rest))
            return rest;
    return "";
}

static void check_how(struct arena *a, const struct fault_case *c, const struct source *s)
{
    for (size_t i = 0; i < c->n_how; i++) {
        size_t n = strcspn(c->how[i], " ");
        const char *key = arena_copy_n(a, c->how[i], n);
        assert_string_equal(how(a, s, key), c->how[i] + n + 1);
    }
    /* nothing stands above a header, or in a column nobody reads, without being asked for */
    assert_string_equal(how(a, s, "preamble"), said_of(c, "preamble"));
    assert_string_equal(how(a, s, "unused"), said_of(c, "unused"));
    assert_int_equal(s->rows_read, s->rows_used + s->rows_left_out);
    assert_int_equal(s->rows_read, s->n_records);
}

/* ---- the numbers ---------------------------------------------------------------------------- */

static int find_column(const struct table *t, const char *word, size_t n)
{
    char name[64];
    int cavity = 0;
    snprintf(name, sizeof name, "%.*s", (int)n, word);
    char *colon = strchr(name, ':');
    if (colon != NULL) {
        *colon = '\0';
        cavity = atoi(colon + 1);
    }
    return table_find(t, name, cavity);
}

static void check_value(const struct fault_case *c, const struct cell *cell, const char *want,
                        size_t n, long line)
{
    char word[64];
    snprintf(word, sizeof word, "%.*s", (int)n, want);
    enum cell_kind kind = word[0] == '<'   ? CELL_BELOW
                          : word[0] == '>' ? CELL_ABOVE
                          : word[0] == '?' ? CELL_MISSING
                          : word[0] == '=' ? CELL_TEXT
                                           : CELL_VALUE;
    if (cell->kind != kind)
        fail_msg("%s: line %ld: '%s' was read as kind %d, not as %s", c->name, line, cell->text,
                 (int)cell->kind, word);
    if (kind == CELL_TEXT) {
        struct arena *a = arena_new();
        struct text text;
        text_init(&text, a);
        fault_add_bytes(&text, word + 1);
        assert_string_equal(cell->text, text.s);
        arena_free(a);
    }
    if (kind != CELL_MISSING && kind != CELL_TEXT)
        assert_lre(cell->value, strtod(word + (kind != CELL_VALUE), NULL), 14);
}

static void check_row(const struct fault_case *c, const struct table *t,
                      const struct table_row *row, const struct fault_row *want)
{
    const char *column = c->columns, *value = want->values;
    if (row->line != want->line || row->source != (size_t)(want->file - 'a'))
        fail_msg("%s: a row of line %ld where line %ld was awaited", c->name, row->line,
                 want->line);
    while (*column != '\0') {
        size_t n = strcspn(column, " "), m = strcspn(value, " ");
        int k = find_column(t, column, n);
        if (k < 0 || m == 0)
            fail_msg("%s: line %ld: no column or no value for %s", c->name, want->line, column);
        else
            check_value(c, &row->cells[k], value, m, want->line);
        column += n + (column[n] == ' ');
        value += m + (value[m] == ' ');
    }
    assert_true(*value == '\0');
}

/* The rows that are used, all of them and in order of time. */
static void check_rows(const struct fault_case *c, const struct table *t)
{
    size_t used = 0;
    for (size_t i = 0; i < t->n_rows; i++) {
        if (t->rows[i].excluded)
            continue;
        if (used < c->n_rows)
            check_row(c, t, &t->rows[i], &c->rows[used]);
        used++;
    }
    assert_int_equal(used, c->n_rows);
}

/* ---- one case ------------------------------------------------------------------------------- */

struct run {
    struct arena *arena;
    struct loaded loaded;
};

static void read_trial(struct run *x, const struct fault_case *c)
{
    x->arena = arena_new();
    const char *folder = make_folder(x->arena, c);
    struct invocation inv = {.arena = x->arena, .argument = folder};
    struct error e = {.code = ERR_NONE};
    enum errc code = cli_load(&inv, &x->loaded, &e);
    remove_folder(x->arena, folder);
    assert_int_equal(code, ERR_NONE);
}

/* Where a case says how a refused file was read, that is compared too. */
static bool tells_reading(const struct fault_case *c)
{
    for (size_t i = 0; i < c->n_told; i++)
        if (strncmp(c->told[i].line, "note ", 5) == 0 || strncmp(c->told[i].line, "out ", 4) == 0)
            return true;
    return false;
}

static bool is_left_out(const struct fault_case *c)
{
    for (size_t i = 0; i < c->n_told; i++)
        if (strncmp(c->told[i].line, "out", 3) == 0)
            return true;
    return false;
}

static const struct table *table_of(const struct fault_case *c, const struct trial *t)
{
    for (size_t i = 0; i < t->n_tables; i++)
        if (strcmp(t->tables[i].study, c->study) == 0)
            return &t->tables[i];
    fail_msg("%s: no table of %s", c->name, c->study);
    return NULL;
}

static void check_outcome(const struct fault_case *c, const struct run *x)
{
    size_t notes = x->loaded.diags.warnings + x->loaded.diags.notes;
    for (size_t i = 0; i < x->loaded.trial.n_tables; i++)
        for (size_t j = 0; j < x->loaded.trial.tables[i].n_sources; j++) {
            const struct source *s = &x->loaded.trial.tables[i].sources[j];
            notes += s->n_repairs + s->n_preamble + s->n_unused;
        }
    if (c->outcome == 'T') { /* whatever the tables are: nothing is analyzed */
        assert_true(x->loaded.diags.errors > 0);
        assert_true(c->columns == NULL && c->n_rows == 0);
        return;
    }
    if (c->outcome == 'R') {
        assert_true(x->loaded.diags.errors > 0);
        assert_int_equal(x->loaded.trial.n_tables, 0); /* no number gets out */
        assert_true(x->loaded.trial.n_refused > 0);
        for (size_t i = 0; i < x->loaded.premises.n_files; i++)
            assert_int_equal(x->loaded.premises.files[i].refused,
                             x->loaded.premises.files[i].study[0] != '\0');
        assert_true(c->columns == NULL && c->n_rows == 0);
        return;
    }
    assert_int_equal(x->loaded.diags.errors, 0);
    assert_true(c->columns != NULL);
    assert_true(c->outcome == 'A' ? !is_left_out(c) : notes > 0);
    const struct table *t = table_of(c, &x->loaded.trial);
    check_rows(c, t);
    check_how(x->arena, c, &t->sources[0]);
}

/* What people see of it holds no control character but line ends. */
static void check_harmless(const struct run *x)
{
    struct text t;
    text_init(&t, x->arena);
    report_diagnostics(&t, &x->loaded.diags, &(struct terminal_style){80, false, NULL});
    report_reading(&t, &x->loaded.premises, &(struct terminal_style){80, false, NULL});
    for (size_t i = 0; i < t.length; i++)
        assert_true(t.s[i] == '\n' || ((unsigned char)t.s[i] >= 0x20 && t.s[i] != 0x7F));
    for (size_t i = 0; i < x->loaded.diags.n; i++) {
        const struct diag *d = &x->loaded.diags.items[i];
        assert_true(d->message[0] != '\0');
        assert_true(d->remedy != NULL || d->severity == DIAG_NOTE);
        assert_non_null(strstr(t.s, d->code)); /* "more: plateau explain CODE" */
    }
}

/* Line by line; a line that is wanted with `*` at its end is compared up to there. */
static bool is_as_wanted(const char *got, const char *want)
{
    while (*got != '\0' && *want != '\0') {
        size_t n = strcspn(got, "\n"), m = strcspn(want, "\n");
        bool open = m > 0 && want[m - 1] == '*';
        if (open ? n + 1 < m || strncmp(got, want, m - 1) != 0
                 : n != m || strncmp(got, want, m) != 0)
            return false;
        got += n + (got[n] == '\n');
        want += m + (want[m] == '\n');
    }
    return *got == *want;
}

static void is_read_as_told(void **state)
{
    const struct fault_case *c = *state;
    struct run x;
    struct text got, want;
    read_trial(&x, c);
    text_init(&got, x.arena);
    text_init(&want, x.arena);
    for (size_t i = 0; i < x.loaded.diags.n; i++) {
        reach(x.loaded.diags.items[i].code);
        say_diag(&got, &x.loaded.diags.items[i]);
    }
    say_tables(&got, x.loaded.trial.tables, x.loaded.trial.n_tables);
    if (tells_reading(c))
        say_tables(&got, x.loaded.trial.refused, x.loaded.trial.n_refused);
    say_wanted(&want, c);
    bool same = is_as_wanted(got.s, want.s);
    if (!same)
        printf("%s:%ld: %s was told:\n%s", c->source, c->line, c->name, got.s); /* uncut */
    if (!same)
        assert_string_equal(got.s, want.s);
    check_outcome(c, &x);
    check_harmless(&x);
    arena_free(x.arena);
}

/* What else was seen in a file with an error is told too, as far as it was read. */
static void refused_files_are_described(void **state)
{
    (void)state;
    static const char *const codes[] = {"other-name", "rows-out-of-order"};
    for (size_t i = 0; i < all.n; i++) {
        struct run x;
        if (strcmp(all.items[i].name, "117 production-table-with-a-tared-pan") != 0)
            continue;
        read_trial(&x, &all.items[i]);
        const struct premises_file *f = &x.loaded.premises.files[1];
        assert_true(f->refused);
        assert_int_equal(f->rows_read, 6);
        for (size_t k = 0; k < PL_COUNT(codes); k++) {
            bool found = false;
            for (size_t j = 0; j < f->n_repairs; j++)
                found = found || strcmp(f->repairs[j].code, codes[k]) == 0;
            assert_true(found);
        }
        arena_free(x.arena);
        return;
    }
    fail_msg("the case is not there");
}

/* ---- all cases ------------------------------------------------------------------------------ */

static bool has_case(long kind, char outcome)
{
    for (size_t i = 0; i < all.n; i++)
        if (strtol(all.items[i].name, NULL, 10) == kind && all.items[i].outcome == outcome)
            return true;
    return false;
}

static bool kind_has(long kind, char outcome)
{
    for (size_t i = 0; i < all.n_kinds; i++)
        if (all.kinds[i].number == kind)
            return strchr(all.kinds[i].outcomes, outcome) != NULL;
    return false;
}

/* Every kind has a case for every outcome it has, and every case a kind; two cases with one name
 * are one too few. */
static void every_kind_has_its_cases(void **state)
{
    (void)state;
    static const int absent[] = {2, 11, 18, 37, 39, 55, 75, 80}; /* numbers that no kind has */
    for (size_t i = 0; i < all.n_kinds; i++) {
        const struct fault_kind *k = &all.kinds[i];
        assert_true(i == 0 || k->number > all.kinds[i - 1].number);
        for (const char *o = k->outcomes; *o != '\0'; o++)
            if (!has_case(k->number, *o))
                fail_msg("kind %ld: no case with outcome %c", k->number, *o);
    }
    for (long n = 1; n <= 86; n++) {
        bool none = false;
        for (size_t i = 0; i < PL_COUNT(absent); i++)
            none = none || absent[i] == n;
        assert_int_equal(kind_has(n, 'A') || kind_has(n, 'N') || kind_has(n, 'R'), !none);
    }
    for (size_t i = 0; i < all.n; i++) {
        const struct fault_case *c = &all.items[i];
        if (!kind_has(strtol(c->name, NULL, 10), c->outcome))
            fail_msg("%s: kinds does not list outcome %c", c->name, c->outcome);
        for (size_t j = 0; j < i; j++)
            assert_string_not_equal(c->name, all.items[j].name);
    }
}

/* Runs last: the codes that came up above are those that `explain` knows, but for what no small
 * file can reach. */
static void every_code_is_reached(void **state)
{
    (void)state;
    /* 1 GiB, 33 million values: test_read_files.c */
    static const char *const elsewhere[] = {"file-too-large", "table-too-large"};
    size_t n;
    const struct code_text *known = read_codes(&n);
    for (size_t i = 0; i < n; i++) {
        bool found = false;
        for (size_t j = 0; j < n_reached; j++)
            found = found || strcmp(reached[j], known[i].code) == 0;
        for (size_t j = 0; j < PL_COUNT(elsewhere); j++)
            found = found || strcmp(elsewhere[j], known[i].code) == 0;
        if (!found)
            fail_msg("no case reaches %s", known[i].code);
        for (size_t j = 0; j < i; j++)
            assert_string_not_equal(known[i].code, known[j].code);
        assert_true(known[i].meaning[0] != '\0' && known[i].remedy[0] != '\0');
    }
}

int main(void)
{
    static const char *const files[] = {"bytes",   "lines", "marks", "header",
                                        "numbers", "rows",  "more",  "ini"};
    all.arena = arena_new();
    for (size_t i = 0; i < PL_COUNT(files); i++)
        fault_cases_read(&all,
                         arena_printf(all.arena, SOURCE_DIR "/tests/faults/%s.cases", files[i]));
    fault_kinds_read(&all, SOURCE_DIR "/tests/faults/kinds");
    struct CMUnitTest *tests = ARENA_ARRAY(all.arena, struct CMUnitTest, all.n + 3);
    for (size_t i = 0; i < all.n; i++)
        tests[i] = (struct CMUnitTest){.name = all.items[i].name,
                                       .test_func = is_read_as_told,
                                       .initial_state = &all.items[i]};
    tests[all.n] = (struct CMUnitTest)cmocka_unit_test(every_kind_has_its_cases);
    tests[all.n + 1] = (struct CMUnitTest)cmocka_unit_test(every_code_is_reached);
    tests[all.n + 2] = (struct CMUnitTest)cmocka_unit_test(refused_files_are_described);
    int failed = _cmocka_run_group_tests("faults", tests, all.n + 3, NULL, NULL);
    arena_free(all.arena);
    return failed;
}
