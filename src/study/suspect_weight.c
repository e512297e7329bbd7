/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Weights against the part weight of trial.ini: of one part, or of all parts of a shot. */
#include <math.h>
#include <string.h>

#include "study_internal.h"

#define CLOSE_WEIGHT 1.5 /* a full part weighs no more off; what trial.ini says is rounded */
#define SHORT_LEAST 0.1  /* of a full part: shorter ones nobody weighs */
#define CLOSE_FACTOR 1.5
#define PARTS_MOST 200.0 /* a shot of more parts says so in trial.ini */

struct unit_factor {
    double factor;
    const char *words;
};

static const struct unit_factor units[] = {
    {1000.0, "grams and kilograms"},
    {453.59237, "grams and pounds"},
    {28.349523125, "grams and ounces"},
};

/* Median of all weights, and whether each is of one cavity. */
static double middle_weight(const struct suspect *s, bool *of_one, size_t *first)
{
    const struct table *t = s->table;
    double *v = ARENA_ARRAY(s->a, double, t->n_rows * t->n_columns);
    size_t n = 0;
    *of_one = false;
    for (size_t i = 0; i < t->n_columns; i++) {
        if (strcmp(t->columns[i].spec->name, "weight") != 0)
            continue;
        for (size_t j = 0; j < t->n_rows; j++) {
            const struct cell *c = &t->rows[j].cells[i];
            if (t->rows[j].excluded || c->kind != CELL_VALUE || !(c->value > 0.0))
                continue;
            *first = n == 0 ? j : *first;
            *of_one = *of_one || t->columns[i].cavity > 0;
            v[n++] = c->value;
        }
    }
    return n > 0 ? math_median(v, n) : PL_NAN;
}

/* Whether weights like this can be of these parts: short ones where the study fills in part. */
static bool fits(const struct suspect *s, double ratio)
{
    bool in_part = strcmp(s->table->study, "cavity-balance") == 0;
    return ratio < CLOSE_WEIGHT && ratio > (in_part ? SHORT_LEAST : 1.0 / CLOSE_WEIGHT);
}

static const struct unit_factor *unit_of(double ratio)
{
    for (size_t i = 0; i < PL_COUNT(units); i++)
        if (fabs(fabs(log(ratio)) - log(units[i].factor)) < log(CLOSE_FACTOR))
            return &units[i];
    return NULL;
}

void suspect_weight(struct suspect *s)
{
    const struct fact *part = facts_find(&s->trial->facts, "mold", "part_weight");
    double cavities = facts_number(&s->trial->facts, "mold", "cavities", PL_NAN);
    bool of_one;
    size_t first = 0;
    double middle = middle_weight(s, &of_one, &first);
    if (part == NULL || !(part->low > 0.0) || !(middle > 0.0))
        return;
    double ratio = middle / part->low;
    /* one column may hold all parts of a shot, and trial.ini the weight of all */
    if (fits(s, ratio) || (!of_one && fits(s, ratio / cavities)) || fits(s, ratio * cavities))
        return;
    const struct unit_factor *u = unit_of(ratio);
    bool many = isnan(cavities) && !of_one && ratio > 1.0; /* parts of a shot, perhaps */
    if (many && (u == NULL || ratio < PARTS_MOST))
        return;
    const char *what = arena_printf(
        s->a, "the weights are about %s, and [mold] part_weight is %s: a factor of %s",
        suspect_value(s, DIM_MASS, middle, PL_NAN), suspect_value(s, DIM_MASS, part->low, PL_NAN),
        number_text(s->a, fmax(ratio, 1.0 / ratio), 3));
    bool lost = u == &units[0] && ratio > 1.0;
    if (u != NULL)
        SUSPECT_RAISE(s, "unit-impossible", study_file(s->table, first), s->table->rows[first].line,
                      "%s, like that between %s%s", what, u->words,
                      lost ? ", or left by a spreadsheet that took the decimal mark for a mark "
                             "between thousands"
                           : "");
    else
        SUSPECT_RAISE(s, "weight-off", study_file(s->table, first), s->table->rows[first].line,
                      "%s, and no number of cavities explains it", what);
}
