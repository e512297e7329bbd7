/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Long form: a row for each cavity. Where every row has a shot number and no shot has a cavity
 * twice, rows belong together by shot number and settings, in whatever order they stand. Else a new
 * shot starts where a cavity repeats or the shot number or a setting changes. */
#include <stdint.h>
#include <string.h>

#include "fold.h"
#include "limits.h"
#include "shots.h"

/* ---- exclude, defect, shot ----------------------------------------------------------------------
 */

static bool is_one_of(const char *s, const char *const *words, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (text_same_word(s, words[i]))
            return true;
    return false;
}

/* `3` of `3,00` or `3.0`, which a number format makes of a whole number; else 0. */
static size_t whole_part(const char *s)
{
    size_t digits = strspn(s, "0123456789");
    if (digits == 0 || (s[digits] != ',' && s[digits] != '.'))
        return 0;
    size_t zeros = strspn(s + digits + 1, "0");
    return zeros > 0 && s[digits + 1 + zeros] == '\0' ? digits : 0;
}

/* Without a unit behind it, with either decimal mark. */
static bool is_plain_number(const char *s, double *value)
{
    struct number x;
    size_t n = strlen(s);
    bool is = (number_parse(s, n, MARK_POINT, &x) == NUMBER_OK ||
               number_parse(s, n, MARK_COMMA, &x) == NUMBER_OK) &&
              x.rest_length == 0;
    *value = is ? x.value : PL_NAN; /* `1 chipped` is a reason */
    return is;
}

/* In the languages in which names of months are read, and Swedish; what a spreadsheet of those
 * countries makes of a truth value too. */
const char *shots_exclusion(const char *s)
{
    static const char *const keep[] = {"no",     "n",          "false",      "nein",    "non",
                                       "nao",    "n\xC3\xA3o", "N\xC3\x83O", "nee",     "nej",
                                       "onwaar", "keep",       "kept",       "include", "included",
                                       "used",   "ok",         "o.k.",       "good"};
    static const char *const leave[] = {"yes",       "y",         "x",    "true",      "ja",
                                        "oui",       "sim",       "si",   "s\xC3\xAD", "S\xC3\x8D",
                                        "s\xC3\xAC", "S\xC3\x8C", "wahr", "vrai",      "verdadeiro",
                                        "verdadero", "vero",      "waar", "sant"};
    double number = PL_NAN;
    if (number_is_missing(s, strlen(s)) || is_one_of(s, keep, PL_COUNT(keep)))
        return NULL;
    if (is_plain_number(s, &number) && fabs(number) <= 0.0)
        return NULL;
    return is_one_of(s, leave, PL_COUNT(leave)) || fabs(number - 1.0) <= 0.0 ? "" : s;
}

bool shots_keeps_row(const struct reading *r, size_t i)
{
    int k = reading_role(r, ROLE_EXCLUDE);
    return r->rows[i].kind == ROW_DATA &&
           (k < 0 || shots_exclusion(row_cell(r, i, (size_t)k)) == NULL);
}

/* Words for a truth value that is false which are also a word for "wrong". */
static bool is_unclear(const char *s)
{
    static const char *const words[] = {"falsch", "faux", "falso", "falsk", "falskt"};
    return is_one_of(s, words, PL_COUNT(words));
}

static void ask_what_is_meant(struct reading *r, size_t record, size_t k)
{
    bool exclude = r->columns[k].want->role == ROLE_EXCLUDE;
    struct complaint c = {
        DIAG_ERROR,
        exclude ? "exclude-unclear" : "defect-unclear",
        column_name(&r->columns[k]),
        arena_printf(r->arena, "%s can be a spreadsheet's word for `no`, %s",
                     quoted(r, row_cell(r, record, k)),
                     exclude ? "which keeps the row, or the reason for leaving it out"
                             : "a good part, or say that the part is wrong"),
        exclude ? "`no` or an empty cell to keep the row, else the reason"
                : "`no` or an empty cell for a good part, else what is wrong",
        exclude ? "Write `no`, or empty the cell, where the row is to be used; else write the "
                  "reason in more words."
                : "Write `no`, or empty the cell, where the parts are good; else write what is "
                  "wrong with them."};
    complain_cell(r, &c, record, k);
}

bool shots_says_good(const char *s)
{
    static const char *const none[] = {
        "ok", "none",  "good", "o.k.",   "okay",        "none.",        "no",         "n",
        "0",  "false", "nein", "nil",    "pass",        "no defect",    "no defects", "i.o.",
        "io", "keine", "kein", "passed", "kein fehler", "keine fehler", "gut",        "aucun",
        "non"};
    return is_one_of(s, none, PL_COUNT(none));
}

const char *shots_defect(const char *s)
{
    return number_is_missing(s, strlen(s)) || shots_says_good(s) ? "" : s;
}

bool shots_number(const char *s, enum decimal_mark mark, double *number)
{
    struct number x;
    s += s[0] == '#';
    if (number_parse(s, strlen(s), mark, &x) != NUMBER_OK || x.rest_length > 0)
        return false;
    *number = x.value;
    return true;
}

/* The reading of another column, in a row whose cells have shifted. */
static void refuse_number(struct reading *r, size_t i, size_t k, const char *expected,
                          const char *remedy)
{
    const char *name = r->columns[k].want->spec->name;
    struct complaint c = {DIAG_ERROR,
                          "number-for-words",
                          name,
                          arena_printf(r->arena,
                                       "%s in %s is a number, as if the cells of this "
                                       "row had shifted",
                                       quoted(r, row_cell(r, i, k)), name),
                          expected,
                          remedy};
    complain_cell(r, &c, i, k);
}

/* Counts and numbers of kinds stand in most rows, if anywhere. */
static bool are_numbers(const struct reading *r, size_t k)
{
    size_t numbers = 0, rows = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        double x;
        if (!shots_keeps_row(r, i))
            continue;
        rows++;
        numbers += is_plain_number(row_cell(r, i, k), &x);
    }
    return 2 * numbers > rows;
}

static void check_defects(struct reading *r)
{
    int k = reading_role(r, ROLE_DEFECT);
    bool counted = k >= 0 && are_numbers(r, (size_t)k);
    for (size_t i = r->body; k >= 0 && i < r->records.n; i++) {
        double x;
        const char *s = row_cell(r, i, (size_t)k);
        if (!shots_keeps_row(r, i))
            continue;
        if (is_unclear(s))
            ask_what_is_meant(r, i, (size_t)k);
        if (!is_plain_number(s, &x))
            continue;
        bool marks = fabs(x) <= 0.0 || fabs(x - 1.0) <= 0.0; /* no and yes */
        if (strpbrk(s, ".,") != NULL || (!counted && !marks))
            refuse_number(r, i, (size_t)k, "what is wrong with the parts, in words",
                          "Put the cells of the row back under their headers, or write the defect "
                          "in words.");
    }
}

static void read_exclusions(struct reading *r, struct shots *out)
{
    int k = reading_role(r, ROLE_EXCLUDE);
    out->excluded = ARENA_ARRAY(r->arena, bool, r->records.n);
    out->reason = ARENA_ARRAY(r->arena, const char *, r->records.n);
    for (size_t i = r->body; k >= 0 && i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        out->reason[i] = shots_exclusion(row_cell(r, i, (size_t)k));
        if (is_unclear(row_cell(r, i, (size_t)k)))
            ask_what_is_meant(r, i, (size_t)k);
        out->excluded[i] = out->reason[i] != NULL;
        if (!out->excluded[i])
            continue;
        r->rows[i].left_out = true;
        r->rows[i].reason = out->reason[i];
        double x;
        if (is_plain_number(out->reason[i], &x))
            refuse_number(r, i, (size_t)k, "a reason in words, or x",
                          "Put the cells of the row back under their headers, or write the reason "
                          "in words.");
    }
}

/* ---- cavity numbers ------------------------------------------------------------------------- */

/* "3", "C3", "cav. 3", "#3"; 0: none of these. */
static int cavity_of(struct reading *r, const char *s)
{
    struct arena_mark mark = arena_mark(r->arena);
    if (whole_part(s) > 0)
        s = arena_copy_n(r->arena, s, whole_part(s));
    const char *w = fold_words(r->arena, s, strlen(s));
    size_t n = strlen(w), digits = 0;
    while (digits < n && w[n - 1 - digits] >= '0' && w[n - 1 - digits] <= '9')
        digits++;
    size_t front = n - digits;
    while (front > 0 && (w[front - 1] == ' ' || w[front - 1] == '~'))
        front--;
    static const char *const words[] = {"",     "c",         "cav",    "cavity",
                                        "nest", "cavity no", "cav no", "cavity nr"};
    bool fits = digits >= 1 && digits <= 3 && memchr(s, '-', strlen(s)) == NULL &&
                memchr(s, '.', strlen(s)) == NULL;
    bool known = false;
    for (size_t i = 0; i < PL_COUNT(words); i++)
        known = known || (strlen(words[i]) == front && memcmp(words[i], w, front) == 0);
    if (front > 0 && memchr(s, '.', strlen(s)) != NULL) /* "cav. 3" */
        fits = digits >= 1 && digits <= 3;
    int v = 0;
    for (size_t i = 0; fits && known && i < digits; i++)
        v = v * 10 + (w[n - digits + i] - '0');
    arena_reset(r->arena, mark);
    return v <= LIMIT_CAVITIES ? v : 0;
}

static void refuse_cavity(struct reading *r, size_t i, const char *message, const char *code)
{
    struct complaint c = {DIAG_ERROR,
                          code,
                          "cavity",
                          message,
                          "the cavity's number: 1, 2, 3 ...",
                          "Number the cavities as the mold does and write the number."};
    complain_cell(r, &c, i, (size_t)r->cavity_column);
}

static void read_cavities(struct reading *r, struct shots *out)
{
    bool seen[LIMIT_CAVITIES + 1] = {false};
    double most = facts_number(r->facts, "mold", "cavities", (double)LIMIT_CAVITIES);
    size_t k = (size_t)r->cavity_column;
    out->cavity = ARENA_ARRAY(r->arena, int, r->records.n);
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        const char *s = row_cell(r, i, k);
        if (number_is_missing(s, strlen(s))) {
            r->rows[i].left_out = true;
            if (r->rows[i].reason == NULL)
                r->rows[i].reason = "no cavity number";
            note_cell(r, "missing-reading", i, k, "rows without a needed reading are left out");
            continue;
        }
        int cavity = cavity_of(r, s);
        if (cavity == 0)
            refuse_cavity(r, i, arena_printf(r->arena, "%s is no cavity number", quoted(r, s)),
                          "not-a-cavity");
        else if ((double)cavity > most)
            refuse_cavity(
                r, i, arena_printf(r->arena, "cavity %d, but [mold] cavities = %.0f", cavity, most),
                "cavity-beyond-mold");
        out->cavity[i] = cavity;
        seen[cavity] = cavity > 0;
    }
    out->cavities = ARENA_ARRAY(r->arena, int, LIMIT_CAVITIES);
    out->index = ARENA_ARRAY(r->arena, int, LIMIT_CAVITIES + 1);
    for (int c = 1; c <= LIMIT_CAVITIES; c++)
        if (seen[c]) {
            out->index[c] = (int)out->n_cavities;
            out->cavities[out->n_cavities++] = c;
        }
}

/* ---- keys ----------------------------------------------------------------------------------- */

const char *shots_key(struct reading *r, size_t i, const int *columns, size_t n)
{
    struct text t;
    text_init(&t, r->arena);
    for (size_t j = 0; j < n; j++) {
        const char *s = row_cell(r, i, (size_t)columns[j]);
        struct number x;
        if (number_parse(s, strlen(s), r->mark, &x) == NUMBER_OK)
            text_addf(&t, "%.17g%.*s\n", x.value, (int)x.rest_length, x.rest);
        else
            text_addf(&t, "%s\n", s);
    }
    return t.s;
}

size_t shots_key_columns(const struct reading *r, int *columns)
{
    size_t n = 0;
    for (size_t k = 0; k < r->n_columns; k++) {
        const struct want *w = r->columns[k].want;
        if (w != NULL && (w->role == ROLE_SHOT ||
                          (w->spec->flags & (COLUMN_SETTING | COLUMN_CONSTANT_LABEL)) != 0))
            columns[n++] = (int)k;
    }
    return n;
}

/* ---- grouping ------------------------------------------------------------------------------- */

struct grouping {
    struct reading *r;
    struct shots *shots;
    const char **keys; /* per record */
    bool **seen;       /* per shot: cavity index -> there */
    size_t *table;     /* hash table of first records + 1 */
    size_t table_size;
};

static bool in_play(const struct grouping *g, size_t i)
{
    return g->r->rows[i].kind == ROW_DATA && g->shots->cavity[i] > 0;
}

/* Puts a record into a shot; false when the shot has that cavity already. */
static bool put(struct grouping *g, size_t record, size_t shot)
{
    int k = g->shots->index[g->shots->cavity[record]];
    if (shot == g->shots->n) {
        g->seen[shot] = ARENA_ARRAY(g->r->arena, bool, g->shots->n_cavities);
        g->shots->n++;
    }
    if (g->seen[shot][k])
        return false;
    g->seen[shot][k] = true;
    g->shots->of[record] = shot;
    return true;
}

static void group_in_order(struct grouping *g)
{
    size_t before = NO_RECORD;
    g->shots->n = 0;
    for (size_t i = g->r->body; i < g->r->records.n; i++) {
        g->shots->of[i] = NO_SHOT;
        if (!in_play(g, i))
            continue;
        bool same = before != NO_RECORD && strcmp(g->keys[before], g->keys[i]) == 0;
        if (!same || !put(g, i, g->shots->n - 1))
            put(g, i, g->shots->n);
        before = i;
    }
}

static uint64_t hash(const char *s)
{
    uint64_t h = 1469598103934665603u; /* FNV-1a */
    for (; *s != '\0'; s++)
        h = (h ^ (unsigned char)*s) * 1099511628211u;
    return h;
}

static bool group_by_key(struct grouping *g)
{
    g->shots->n = 0;
    for (size_t i = g->r->body; i < g->r->records.n; i++) {
        g->shots->of[i] = NO_SHOT;
        if (!in_play(g, i))
            continue;
        size_t at = (size_t)(hash(g->keys[i]) % g->table_size);
        while (g->table[at] != 0 && strcmp(g->keys[g->table[at] - 1], g->keys[i]) != 0)
            at = (at + 1) % g->table_size;
        if (g->table[at] == 0)
            g->table[at] = i + 1;
        size_t first = g->table[at] - 1;
        if (!put(g, i, first == i ? g->shots->n : g->shots->of[first]))
            return false;
    }
    return true;
}

static bool every_row_has_shot(const struct grouping *g)
{
    int k = reading_role(g->r, ROLE_SHOT);
    for (size_t i = g->r->body; k >= 0 && i < g->r->records.n; i++) {
        const char *s = in_play(g, i) ? row_cell(g->r, i, (size_t)k) : "1";
        if (number_is_missing(s, strlen(s)))
            return false;
    }
    return k >= 0;
}

/* Several cavities, and every row became a shot of its own. */
static void warn_apart(struct reading *r)
{
    struct complaint c = {
        DIAG_WARNING,
        "cavities-apart",
        "cavity",
        "no two rows were joined to one shot: without shot numbers the rows of a shot must stand "
        "below each other",
        "rows of one shot next to each other, or a column `shot`",
        "Add a column `shot` with the number of the shot in every row. If one cavity was measured "
        "in "
        "each shot, nothing is to be done."};
    complain_file(r, &c);
}

static void group_long(struct reading *r, struct shots *out)
{
    struct grouping g = {.r = r, .shots = out};
    int *columns = ARENA_ARRAY(r->arena, int, r->n_columns);
    size_t n = shots_key_columns(r, columns), rows = 1;
    g.keys = ARENA_ARRAY(r->arena, const char *, r->records.n);
    g.seen = ARENA_ARRAY(r->arena, bool *, r->records.n);
    for (size_t i = r->body; i < r->records.n; i++)
        if (in_play(&g, i)) {
            g.keys[i] = shots_key(r, i, columns, n);
            rows++;
        }
    g.table_size = 2 * rows + 1;
    g.table = ARENA_ARRAY(r->arena, size_t, g.table_size);
    if (every_row_has_shot(&g) && group_by_key(&g))
        return;
    group_in_order(&g);
    if (out->n_cavities > 1 && out->n + 1 == rows && out->n > out->n_cavities)
        warn_apart(r);
}

void shots_group(struct reading *r, struct shots *out)
{
    *out = (struct shots){.of = ARENA_ARRAY(r->arena, size_t, r->records.n)};
    read_exclusions(r, out);
    check_defects(r);
    if (r->cavity_column >= 0) {
        read_cavities(r, out);
        group_long(r, out);
        return;
    }
    for (size_t i = r->body; i < r->records.n; i++)
        out->of[i] = r->rows[i].kind == ROW_DATA ? out->n++ : NO_SHOT;
}
