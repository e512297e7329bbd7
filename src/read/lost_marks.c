/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Decimal marks that a spreadsheet took for marks between thousands. Set to decimal comma it makes
 * 4203 of `4.203` and leaves `4.18` and `6.0` alone, as text; set to decimal point it does so with
 * commas. Saved again, the file shows one decimal mark and whole numbers. */
#include <string.h>

#include "decimal.h"
#include "shots.h"

#define LEAST_LOST 1e3 /* of one digit and three decimals */
#define MOST_LOST 1e6
#define FAR_APART 50.0 /* no readings of one column are, with none between them */
#define ALIKE 3.0      /* readings that were alike before the marks were lost */

/* The numbers of one column. */
struct seen {
    size_t n_whole, n_marked, n_other;
    size_t whole, marked; /* records of the first of each */
    double whole_low, whole_high, marked_low, marked_high;
    bool keeps_three; /* a number that such a spreadsheet would have changed, and did not */
};

static void widen(double v, double *low, double *high)
{
    *low = v < *low ? v : *low;
    *high = v > *high ? v : *high;
}

static bool is_digits(const char *s, size_t n)
{
    return n > 0 && strspn(s, "0123456789") >= n;
}

static void look_at_cell(const struct reading *r, size_t record, const char *s, struct seen *out)
{
    struct number x;
    if (number_parse(s, strlen(s), r->mark, &x) != NUMBER_OK)
        return;
    size_t n = strcspn(s, " ");
    if (x.decimals > 0 && x.repairs == 0) {
        out->marked = out->n_marked == 0 ? record : out->marked;
        out->n_marked++;
        widen(x.value, &out->marked_low, &out->marked_high);
        out->keeps_three = out->keeps_three || (x.decimals == 3 && x.value < LEAST_LOST);
    } else if (is_digits(s, n) && s[0] != '0' && x.value >= LEAST_LOST && x.value < MOST_LOST) {
        out->whole = out->n_whole == 0 ? record : out->whole;
        out->n_whole++;
        widen(x.value, &out->whole_low, &out->whole_high);
    } else {
        out->n_other++;
    }
}

static void look_at_column(const struct reading *r, size_t k, struct seen *out)
{
    *out = (struct seen){.whole_low = PL_INF, .marked_low = PL_INF};
    for (size_t i = r->body; i < r->records.n; i++)
        if (shots_keeps_row(r, i))
            look_at_cell(r, i, row_cell(r, i, k), out);
}

/* `4.18` among 4203 and 4119. */
static bool is_mixed(const struct seen *s)
{
    return s->n_whole > 0 && s->n_marked > 0 && s->whole_low > s->marked_high * FAR_APART &&
           s->whole_low / LEAST_LOST > s->marked_low / ALIKE &&
           s->whole_high / LEAST_LOST < s->marked_high * ALIKE;
}

static void refuse(struct reading *r, size_t k, const struct seen *s)
{
    struct complaint c = {
        DIAG_ERROR,
        "decimal-mark-lost",
        column_name(&r->columns[k]),
        arena_printf(r->arena,
                     "%s stands here and %s on line %ld: a factor of about a thousand, as a "
                     "spreadsheet makes it that takes a decimal %s for a mark between thousands",
                     quoted(r, row_cell(r, s->whole, k)), quoted(r, row_cell(r, s->marked, k)),
                     r->records.items[s->marked].line, r->mark == MARK_COMMA ? "comma" : "point"),
        "readings of one size",
        "Go back to the file as it was before it was opened there, or enter the readings again."};
    complain_cell(r, &c, s->whole, k);
}

/* Far above the limits that trial.ini gives, and among them when divided by a thousand. */
static bool is_far_off(const struct reading *r, const struct column *c, const struct seen *s,
                       double *limit)
{
    const struct fact *f = facts_find(r->facts, "dimensions", c->want->spec->name);
    if (f == NULL || s->n_whole == 0 || s->n_other > 0 || s->n_marked > 0 || c->use == NULL)
        return false;
    double low = s->whole_low * c->use->factor, high = s->whole_high * c->use->factor;
    *limit = unit_from_canonical(c->use, f->high);
    return isfinite(f->high) && f->high > 0.0 && c->use->offset == 0.0 &&
           low > f->high * FAR_APART && high / LEAST_LOST < f->high * ALIKE;
}

static void refuse_far_off(struct reading *r, size_t k, const struct seen *s, double limit)
{
    const struct column *c = &r->columns[k];
    struct complaint x = {
        DIAG_ERROR,
        "decimal-mark-lost",
        column_name(c),
        arena_printf(
            r->arena,
            "%s in %s is about a thousand times more than [dimensions] allows, %.6g %s, as "
            "a spreadsheet makes it that takes the decimal mark for a mark between thousands",
            quoted(r, row_cell(r, s->whole, k)), c->want->spec->name, limit, c->use->spelling),
        "readings near their limits",
        "Go back to the file as it was before it was opened there, or enter the readings again; "
        "correct trial.ini if the limits are wrong."};
    complain_cell(r, &x, s->whole, k);
}

/* Weights of parts of which trial.ini gives no weight, all of them whole numbers. */
static bool may_be_lost(const struct reading *r, const struct column *c, const struct seen *s)
{
    return s->n_whole > 0 && s->n_marked == 0 && s->n_other == 0 && c->use != NULL &&
           c->want->spec->dimension == DIM_MASS && c->use->factor >= 1.0 /* g */ &&
           facts_find(r->facts, "dimensions", c->want->spec->name) == NULL &&
           facts_find(r->facts, "mold", "part_weight") == NULL;
}

static void note_perhaps(struct reading *r, size_t k, const struct seen *s)
{
    const char *mark = r->mark == MARK_COMMA ? "comma" : "point";
    note_repair(r, "decimal-mark-perhaps-lost", column_name(&r->columns[k]),
                r->records.items[s->whole].line,
                arena_printf(r->arena,
                             "whole numbers such as %s beside decimal %ss in other columns: a "
                             "spreadsheet that takes the %s for a mark between thousands leaves "
                             "them; check the figures",
                             quoted(r, row_cell(r, s->whole, k)), mark, mark));
}

void lost_marks_check(struct reading *r)
{
    struct seen *seen = ARENA_ARRAY(r->arena, struct seen, r->n_columns);
    bool marked = false, kept = false;
    double limit;
    for (size_t k = 0; k < r->n_columns; k++) {
        if (!column_is_quantity(&r->columns[k]))
            continue;
        look_at_column(r, k, &seen[k]);
        marked = marked || seen[k].n_marked > 0;
        kept = kept || seen[k].keeps_three;
        if (r->columns[k].judged)
            continue;
        if (is_mixed(&seen[k]))
            refuse(r, k, &seen[k]);
        else if (is_far_off(r, &r->columns[k], &seen[k], &limit))
            refuse_far_off(r, k, &seen[k], limit);
    }
    for (size_t k = 0; k < r->n_columns && marked && !kept; k++)
        if (column_is_quantity(&r->columns[k]) && may_be_lost(r, &r->columns[k], &seen[k]) &&
            column_is_first(r, k))
            note_perhaps(r, k, &seen[k]);
}
