/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Single shots that stand off, and first shots after a change. */
#include <math.h>

#include "study_internal.h"

#define ODD_LEVEL 0.005 /* for the whole study */
#define ODD_MOST 8
#define FIRST_LEVEL 0.005

static bool has_row(const struct math_odd_row *odd, size_t n, size_t row)
{
    for (size_t i = 0; i < n; i++)
        if (odd[i].row == row)
            return true;
    return false;
}

static size_t group_of(const struct math_blocks *b, size_t shot)
{
    for (size_t i = 0; i < b->n_blocks; i++)
        if (shot < b->b[i].first + b->b[i].n)
            return b->b[i].group;
    return 0;
}

static void raise_odd(const struct study_shots *s, const struct math_odd_row *odd)
{
    size_t row = s->row[odd->row];
    const char *file = study_file(s->table, row);
    const char *name = s->name[group_of(s->blocks, odd->row)];
    const char *off = s->size(s->context, fabs(odd->distance));
    const char *side = odd->distance > 0.0 ? "above" : "below";
    if (odd->nearer >= 0 && !s->alike)
        finding_flag(s->finding, "stray-shot", suspect_grade("stray-shot"), file,
                     s->table->rows[row].line,
                     "the shot at %s%s lies %s %s the others of its %s%s and fits %s better",
                     s->before, name, off, side, s->noun, s->in, s->name[odd->nearer]);
    else
        finding_flag(s->finding, "outlier", suspect_grade("outlier"), file,
                     s->table->rows[row].line, "the shot at %s%s lies %s %s the others of its %s%s",
                     s->before, name, off, side, s->noun, s->in);
}

static double shared_by(const struct study_shots *s)
{
    return s->of > 1 ? (double)s->of : 1.0;
}

static void check_odd(const struct study_shots *s)
{
    struct math_odd_row odd[ODD_MOST], too[ODD_MOST];
    double level = ODD_LEVEL / shared_by(s), least = s->step * s->step / 12.0;
    size_t n = math_odd_rows(s->blocks, s->y, level, least, odd, ODD_MOST), m = 0;
    if (s->relative != NULL)
        m = math_odd_rows(s->relative_blocks, s->relative, level, 0.0, too, ODD_MOST);
    for (size_t i = 0; i < n; i++)
        if ((s->relative == NULL || has_row(too, m, odd[i].row)) &&
            fabs(odd[i].distance) > s->step * (1.0 + 1e-9))
            raise_odd(s, &odd[i]);
}

void study_flag_shots(const struct study_shots *s)
{
    check_odd(s);
    const struct math_blocks *b = s->relative != NULL ? s->relative_blocks : s->blocks;
    struct math_first_shots first = math_first_shots(b, s->relative != NULL ? s->relative : s->y);
    if (first.p < FIRST_LEVEL / shared_by(s) && fabs(first.mean) > s->least_first)
        finding_flag(s->finding, "first-shots", suspect_grade("first-shots"), NULL, 0,
                     "the first shot of a %s %s %s %s%s than those that follow, on average over "
                     "%zu %ss",
                     s->noun, s->verb, s->first(s->context, fabs(first.mean)),
                     first.mean > 0.0 ? s->more : s->less, s->in, first.blocks, s->noun);
}
