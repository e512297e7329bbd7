/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the table to stages in the order of flow, and what trial.ini says the press can give. */
#include <math.h>
#include <string.h>

#include "pressure_drop.h"

#define STAGES_MOST 200 /* more are no stages: the work must stay linear in the rows */

const char *pressure_drop_file(const struct pressure_drop *p, size_t shot)
{
    return p->table->sources[p->table->rows[p->shots.row[shot]].source].name;
}

long pressure_drop_line(const struct pressure_drop *p, size_t shot)
{
    return p->table->rows[p->shots.row[shot]].line;
}

/* ---- stages -------------------------------------------------------------------------------- */

static bool is_filler(char c)
{
    return c == ' ' || c == '\t' || c == '_' || c == '-';
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* "Hot runner", "hot-runner" and "HOT RUNNER" are one stage. */
static bool same_stage(const char *a, const char *b)
{
    for (;;) {
        while (is_filler(*a))
            a++;
        while (is_filler(*b))
            b++;
        if (lower(*a) != lower(*b))
            return false;
        if (*a == '\0')
            return true;
        a++;
        b++;
    }
}

static size_t find_stage(const struct pressure_drop_stage *s, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++)
        if (same_stage(s[i].name, name))
            return i;
    return n;
}

bool pressure_drop_too_many(const struct pressure_drop *p)
{
    return p->n_stages + p->n_gone >= STAGES_MOST;
}

/* Every stage the table names, in the order of first appearance, left-out rows included: leaving a
 * row out must not move a stage. */
static void name_stages(struct pressure_drop *p, int column)
{
    p->stages = ARENA_ARRAY(p->a, struct pressure_drop_stage, STAGES_MOST);
    p->n_stages = 0;
    for (size_t i = 0; i < p->table->n_rows; i++) {
        const struct cell *c = &p->table->rows[i].cells[column];
        if (c->kind != CELL_TEXT || find_stage(p->stages, p->n_stages, c->text) < p->n_stages)
            continue;
        if (p->n_stages < STAGES_MOST)
            p->stages[p->n_stages++] = (struct pressure_drop_stage){.name = c->text};
    }
}

/* ---- shots --------------------------------------------------------------------------------- */

static const char *why_unusable(const struct table_row *row, int stage, int pressure)
{
    enum cell_kind kind = row->cells[pressure].kind;
    if (row->cells[stage].kind != CELL_TEXT)
        return "no stage";
    if (kind == CELL_BELOW || kind == CELL_ABOVE)
        return "the peak pressure is a limit (< or >), not a reading";
    return kind != CELL_VALUE ? "no peak pressure" : NULL;
}

void pressure_drop_collect(struct pressure_drop *p, enum study_take take,
                           struct pressure_drop_shots *out)
{
    const struct table *t = p->table;
    int stage = table_find(t, "stage", 0), pressure = table_find(t, "peak_pressure", 0);
    *out = (struct pressure_drop_shots){.x = ARENA_ARRAY(p->a, double, t->n_rows),
                                        .y = ARENA_ARRAY(p->a, double, t->n_rows),
                                        .row = ARENA_ARRAY(p->a, size_t, t->n_rows)};
    if (stage < 0 || pressure < 0)
        return;
    p->step = t->columns[pressure].step;
    name_stages(p, stage);
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *row = &t->rows[i];
        bool looked_at = study_takes(row, take);
        const char *why = looked_at ? why_unusable(row, stage, pressure) : NULL;
        if (!looked_at || why != NULL) {
            study_leave_out(p->f, t, i, why, take);
            continue;
        }
        out->x[out->n] = 1.0 + (double)find_stage(p->stages, p->n_stages, row->cells[stage].text);
        out->y[out->n] = row->cells[pressure].value;
        out->row[out->n++] = i;
    }
}

/* Stages without a usable shot go; the numbers of the others close up. */
static void drop_empty_stages(struct pressure_drop *p)
{
    size_t *number = ARENA_ARRAY(p->a, size_t, p->n_stages), kept = 0;
    bool *used = ARENA_ARRAY(p->a, bool, p->n_stages);
    const char **gone = ARENA_ARRAY(p->a, const char *, p->n_stages);
    for (size_t j = 0; j < p->shots.n; j++)
        used[(size_t)p->shots.x[j] - 1] = true;
    p->n_gone = 0;
    for (size_t i = 0; i < p->n_stages; i++) {
        number[i] = kept;
        if (used[i])
            p->stages[kept++] = p->stages[i];
        else
            gone[p->n_gone++] = p->stages[i].name;
    }
    p->gone = gone;
    p->n_stages = kept;
    for (size_t j = 0; j < p->shots.n; j++)
        p->shots.x[j] = 1.0 + (double)number[(size_t)p->shots.x[j] - 1];
}

/* ---- means --------------------------------------------------------------------------------- */

static void fill_stage(struct pressure_drop *p, size_t index)
{
    struct pressure_drop_stage *s = &p->stages[index];
    const struct math_blocks *b = &p->blocks;
    double ss = 0.0, sum = 0.0, base = PL_NAN, squares = 0.0;
    s->n = b->group_n[index];
    s->mean = b->group_mean[index];
    s->visits = 0;
    for (size_t i = 0; i < b->n_blocks; i++) {
        const struct math_block *k = &b->b[i];
        if (k->group != index)
            continue;
        if (s->visits++ == 0) {
            s->first = k->first;
            base = k->mean;
        }
        s->ss_within += k->ss;
        sum += k->mean - base;
        squares += (double)k->n * (double)k->n;
        ss += k->ss + (double)k->n * (k->mean - s->mean) * (k->mean - s->mean);
    }
    double center = base + sum / (double)s->visits;
    for (size_t i = 0; i < b->n_blocks; i++)
        if (b->b[i].group == index)
            s->spread += (b->b[i].mean - center) * (b->b[i].mean - center);
    s->share = squares / ((double)s->n * (double)s->n);
    s->sd = s->n > 1 ? sqrt(ss / (double)(s->n - 1)) : PL_NAN;
    s->at_limit = s->mean >= PRESSURE_DROP_AT_LIMIT * p->available;
}

void pressure_drop_fill_stages(struct pressure_drop *p)
{
    for (size_t i = 0; i < p->n_stages; i++)
        fill_stage(p, i);
}

bool pressure_drop_load(struct pressure_drop *p)
{
    p->n_gone = 0;
    pressure_drop_collect(p, TAKE_ANALYZED, &p->shots);
    if (p->shots.n == 0 || p->n_stages >= STAGES_MOST)
        return false;
    drop_empty_stages(p);
    math_blocks_make(p->a, p->shots.x, p->shots.y, p->shots.n, &p->blocks);
    pressure_drop_fill_stages(p);
    return true;
}

/* ---- what the press can give --------------------------------------------------------------- */

/* Both pressures of [press] have one basis; canonical is melt. */
void pressure_drop_available(struct pressure_drop *p)
{
    const struct facts *facts = &p->trial->facts;
    double most = facts_number(facts, "press", "max_injection_pressure", PL_NAN);
    double limit = facts_number(facts, "press", "pressure_limit", PL_NAN);
    const char *basis = facts_text(facts, "press", "pressure_basis");
    double ratio = facts_number(facts, "press", "intensification_ratio", PL_NAN);
    p->available = PL_NAN;
    p->from = AVAILABLE_NONE;
    if (isnan(most) && isnan(limit)) {
        p->not_known = p->trial->single_file
                           ? "a single file was analyzed, without a trial.ini"
                           : "trial.ini gives neither max_injection_pressure nor pressure_limit "
                             "in [press]";
        return;
    }
    if (basis == NULL) {
        p->not_known = "trial.ini does not say in [press] pressure_basis whether the press's "
                       "pressures are hydraulic or melt pressure";
        return;
    }
    bool hydraulic = text_same_word(basis, "hydraulic");
    if (hydraulic && !(ratio > 0.0)) {
        p->not_known = "trial.ini gives hydraulic pressures without [press] intensification_ratio";
        return;
    }
    bool by_limit = isnan(most) || limit < most;
    p->from = by_limit ? AVAILABLE_SET_LIMIT : AVAILABLE_PRESS;
    p->available = (by_limit ? limit : most) * (hydraulic ? ratio : 1.0);
}
