/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "shot_numbers.h"

/* One row with a shot number. */
struct entry {
    const char *id;  /* its shot number, by value */
    const char *key; /* and its setting */
    size_t row, record;
    size_t block; /* numbers start again at its first row */
    bool repeats; /* its number stands further up */
};

static int compare_ids(const void *a, const void *b)
{
    const struct entry *x = *(struct entry *const *)a, *y = *(struct entry *const *)b;
    int order = strcmp(x->id, y->id);
    return order != 0 ? order : (x->row > y->row) - (x->row < y->row);
}

static int compare_keys(const void *a, const void *b)
{
    const struct entry *x = *(struct entry *const *)a, *y = *(struct entry *const *)b;
    int order = strcmp(x->key, y->key);
    return order != 0 ? order : (x->row > y->row) - (x->row < y->row);
}

/* ---- numbers that start again --------------------------------------------------------------- */

static bool same_shot(const struct entry *a, const struct entry *b)
{
    return strcmp(a->id, b->id) == 0;
}

/* A block begins wherever the first number of the file comes again. */
static void number_blocks(struct entry *e, size_t n)
{
    for (size_t i = 1; i < n; i++)
        e[i].block = e[i - 1].block + same_shot(&e[i], &e[0]);
}

/* Two blocks or more, none of a single row, and no number twice in one block. */
static bool starts_again(const struct entry *e, struct entry *const *by_id, size_t n)
{
    size_t rows = 0;
    for (size_t i = 0; i < n; i++) {
        if (i > 0 && e[i].block != e[i - 1].block && rows < 2)
            return false;
        rows = i > 0 && e[i].block == e[i - 1].block ? rows + 1 : 1;
        if (i > 0 && same_shot(by_id[i], by_id[i - 1]) && by_id[i]->block == by_id[i - 1]->block)
            return false;
    }
    return n > 0 && e[n - 1].block > 0 && rows > 1;
}

/* ---- one shot twice ------------------------------------------------------------------------- */

static bool same_readings(const struct table *t, const struct table_row *a,
                          const struct table_row *b)
{
    for (size_t c = 0; c < t->n_columns; c++) {
        const struct cell *x = &a->cells[c], *y = &b->cells[c];
        if (t->columns[c].spec->dimension == DIM_TEXT)
            continue;
        if (x->kind != y->kind ||
            (x->kind != CELL_MISSING && (x->value < y->value || x->value > y->value)))
            return false;
    }
    return true;
}

static void refuse_twice(struct reading *r, const struct table *t, const struct entry *a,
                         const struct entry *b)
{
    size_t k = (size_t)reading_role(r, ROLE_SHOT);
    bool cavities = r->cavity_column < 0 && t->cavities == 0;
    struct complaint c = {
        DIAG_ERROR,
        "shot-twice",
        "shot",
        arena_printf(r->arena, "shot %s stands here and on line %ld, with other readings",
                     quoted(r, t->rows[b->row].shot), t->rows[a->row].line),
        "every shot once, or a `cavity` column that tells its parts apart",
        cavities ? "Correct the number, or leave one of the two out with a reason in `exclude`. "
                   "Where the rows are the parts of one shot, add a `cavity` column."
                 : "Correct the number, or leave one of the two out with a reason in `exclude`."};
    complain_cell(r, &c, b->record, k);
}

/* Sorted by key: rows of one key with other readings than the row before. They are told in the
 * order of the file. */
static void refuse_twins(struct reading *r, const struct table *t, struct entry **by_key, size_t n)
{
    size_t *earlier = ARENA_ARRAY(r->arena, size_t, t->n_rows);
    const struct entry **twin = ARENA_ARRAY(r->arena, const struct entry *, t->n_rows);
    for (size_t i = 1; i < n; i++) {
        const struct entry *a = by_key[i - 1], *b = by_key[i];
        if (strcmp(a->key, b->key) != 0 || same_readings(t, &t->rows[a->row], &t->rows[b->row]))
            continue;
        earlier[b->row] = i - 1;
        twin[b->row] = b;
    }
    for (size_t i = 0; i < t->n_rows; i++)
        if (twin[i] != NULL)
            refuse_twice(r, t, by_key[earlier[i]], twin[i]);
}

/* ---- rows with numbers ---------------------------------------------------------------------- */

static size_t list_entries(struct reading *r, const struct table *t, const size_t *first,
                           struct entry *out, bool used_only)
{
    int shot = reading_role(r, ROLE_SHOT);
    int *columns = ARENA_ARRAY(r->arena, int, r->n_columns);
    size_t n_columns = shots_key_columns(r, columns), n = 0;
    for (size_t i = 0; i < t->n_rows; i++) {
        if (t->rows[i].shot[0] == '\0' || (used_only && t->rows[i].excluded))
            continue;
        out[n++] = (struct entry){.id = shots_key(r, first[i], &shot, 1),
                                  .key = shots_key(r, first[i], columns, n_columns),
                                  .row = i,
                                  .record = first[i]};
    }
    return n;
}

static struct entry **sorted(struct reading *r, struct entry *e, size_t n,
                             int (*compare)(const void *, const void *))
{
    struct entry **out = ARENA_ARRAY(r->arena, struct entry *, n);
    for (size_t i = 0; i < n; i++)
        out[i] = &e[i];
    if (n > 0)
        qsort(out, n, sizeof *out, compare);
    return out;
}

/* True when no number occurs twice. */
static bool check_repeats(struct reading *r, struct table *t, const size_t *first)
{
    struct entry *e = ARENA_ARRAY(r->arena, struct entry, t->n_rows);
    size_t n = list_entries(r, t, first, e, false), repeats = 0;
    struct entry **by_id = sorted(r, e, n, compare_ids);
    for (size_t i = 1; i < n; i++) {
        by_id[i]->repeats = same_shot(by_id[i], by_id[i - 1]);
        repeats += by_id[i]->repeats;
    }
    if (repeats == 0)
        return true;
    for (size_t i = 0; i < n; i++)
        if (e[i].repeats)
            note_repair(r, "shot-numbers-repeat", "shot", t->rows[e[i].row].line,
                        "a shot number occurs more than once: the order of the rows was taken as "
                        "the order in time");
    number_blocks(e, n);
    if (starts_again(e, by_id, n))
        return false;
    struct entry *used = ARENA_ARRAY(r->arena, struct entry, t->n_rows);
    n = list_entries(r, t, first, used, true);
    refuse_twins(r, t, sorted(r, used, n, compare_keys), n);
    return false;
}

/* ---- the order ------------------------------------------------------------------------------ */

static void note_order(struct reading *r, const struct table *t)
{
    for (size_t i = 1; i < t->n_rows; i++)
        if (t->rows[i].order < t->rows[i - 1].order)
            note_repair(r, "rows-out-of-order", "shot", t->rows[i].line,
                        "the rows do not stand in the order of their shot numbers, which was taken "
                        "as the order in time");
}

/* Most rows have a number: a word is something else than a shot, and a blank is told. */
static void check_names(struct reading *r, const struct table *t, const size_t *first)
{
    int k = reading_role(r, ROLE_SHOT);
    size_t used = 0, numbered = 0;
    for (size_t i = 0; i < t->n_rows; i++) {
        used += !t->rows[i].excluded;
        numbered += !t->rows[i].excluded && strpbrk(t->rows[i].shot, "0123456789") != NULL;
    }
    for (size_t i = 0; k >= 0 && 4 * numbered >= 3 * used && i < t->n_rows; i++) {
        const char *s = t->rows[i].shot;
        if (t->rows[i].excluded || strpbrk(s, "0123456789") != NULL)
            continue;
        if (s[0] == '\0' || number_is_missing(s, strlen(s))) {
            note_repair(r, "shot-number-missing", "shot", t->rows[i].line,
                        "a row without a shot number was read as a shot");
            continue;
        }
        struct complaint c = {
            DIAG_ERROR,
            "shot-without-number",
            "shot",
            arena_printf(r->arena, "%s stands where the other shots have their number",
                         quoted(r, s)),
            "the number of the shot, or a word such as `average` for a row that is none",
            "Give the shot a number. If the row is no shot, put # in front of it."};
        complain_cell(r, &c, first[i], (size_t)k);
    }
}

void shot_numbers_read(struct reading *r, struct table *t, const size_t *first)
{
    bool ordered = t->n_rows > 0, any = false;
    long named = 0; /* line of the first shot with a name in place of a number */
    check_names(r, t, first);
    if (reading_role(r, ROLE_SHOT) >= 0)
        ordered = check_repeats(r, t, first) && ordered;
    for (size_t i = 0; i < t->n_rows; i++) {
        bool numbered = shots_number(t->rows[i].shot, r->mark, &t->rows[i].order);
        any = any || t->rows[i].shot[0] != '\0';
        /* a row that is left out, such as a remark, stays behind the one above it */
        if (!numbered && t->rows[i].excluded)
            t->rows[i].order = i > 0 ? t->rows[i - 1].order : 0.0;
        else
            ordered = ordered && numbered;
        if (!numbered && !t->rows[i].excluded && t->rows[i].shot[0] != '\0' && named == 0)
            named = t->rows[i].line;
    }
    if (named > 0)
        note_repair(r, "shots-with-names", "shot", named,
                    "not every shot has a plain number: the order of the rows was taken as the "
                    "order in time");
    t->has_shot_numbers = ordered && any;
    for (size_t i = 0; !t->has_shot_numbers && i < t->n_rows; i++)
        t->rows[i].order = (double)(i + 1);
    if (t->has_shot_numbers)
        note_order(r, t);
}
