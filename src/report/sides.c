/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "report/html.h"
#include "report/layout.h"
#include "report/sides.h"
#include "report/svg.h"

/* The results that stand side by side, the one as used first. */
struct result {
    const struct quantity *quantities;
    size_t n_quantities;
    const struct criterion *criteria;
    size_t n_criteria;
    const struct bound *bounds;
    size_t n_bounds;
    enum verdict verdict;
};
struct making {
    struct arena *a;
    const struct premises *premises;
    const struct result *result;
    struct sides *out;
};

static bool same_text(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static struct sides_cell *add_row(struct making *m, const char *name)
{
    struct sides *s = m->out;
    struct sides_row *row = ARENA_PUSH(m->a, s->rows, s->n_rows, s->cap_rows);
    *row = (struct sides_row){.name = name, .cells = ARENA_ARRAY(m->a, struct sides_cell, s->n)};
    return row->cells;
}

/* Cell k of the row that was filled last; `alike`: another text makes no difference. */
static void mark_cell(struct making *m, size_t k, bool alike)
{
    struct sides_row *row = &m->out->rows[m->out->n_rows - 1];
    struct sides_cell *c = &row->cells[k];
    c->changed = strcmp(c->text, row->cells[0].text) != 0;
    c->differs = c->changed && !alike;
    row->changed = row->changed || c->changed;
    row->differs = row->differs || c->differs;
    m->out->n_changed += c->changed;
    m->out->n_differ += c->differs;
}

static void mark(struct making *m)
{
    for (size_t k = 1; k < m->out->n; k++)
        mark_cell(m, k, false);
}

static struct sides_cell verdict_cell(enum verdict v)
{
    return (struct sides_cell){.text = v == VERDICT_NONE ? "no verdict" : verdict_text(v),
                               .is_verdict = true,
                               .verdict = v};
}

/* ---- verdicts -------------------------------------------------------------------------------- */

static bool same_criterion(const struct criterion *a, const struct criterion *b)
{
    return same_text(a->name, b->name) && same_text(a->title, b->title);
}

static const struct criterion *criterion_of(const struct result *r, const struct criterion *c)
{
    for (size_t i = 0; i < r->n_criteria; i++)
        if (same_criterion(&r->criteria[i], c))
            return &r->criteria[i];
    return NULL;
}

/* Of one criterion that is all there is, the study's verdict would say the same again. */
static void add_study_verdict(struct making *m)
{
    bool more = false;
    for (size_t k = 0; k < m->out->n; k++) {
        const struct result *r = &m->result[k];
        more = more || r->n_criteria != 1 || r->criteria[0].verdict != r->verdict;
    }
    if (!more)
        return;
    struct sides_cell *cells = add_row(m, "verdict of the study");
    for (size_t k = 0; k < m->out->n; k++)
        cells[k] = verdict_cell(m->result[k].verdict);
    mark(m);
}

static void add_criterion(struct making *m, const struct criterion *c)
{
    const char *title = html_is_empty(c->title) ? layout_words(m->a, c->name) : c->title;
    struct sides_cell *cells = add_row(m, title);
    for (size_t k = 0; k < m->out->n; k++) {
        const struct criterion *found = criterion_of(&m->result[k], c);
        cells[k] = found != NULL ? verdict_cell(found->verdict) : (struct sides_cell){.text = "-"};
    }
    mark(m);
}

static void add_criteria(struct making *m)
{
    for (size_t k = 0; k < m->out->n; k++)
        for (size_t i = 0; i < m->result[k].n_criteria; i++) {
            const struct criterion *c = &m->result[k].criteria[i];
            bool said = criterion_of(&m->result[k], c) != c;
            for (size_t j = 0; j < k; j++)
                said = said || criterion_of(&m->result[j], c) != NULL;
            if (!said)
                add_criterion(m, c);
        }
}

/* ---- limits on settings ---------------------------------------------------------------------- */

/* The narrowest of its kind decides. */
static const struct bound *bound_of(const struct result *r, const struct bound *kind)
{
    const struct bound *best = NULL;
    for (size_t i = 0; i < r->n_bounds; i++) {
        const struct bound *b = &r->bounds[i];
        if (b->side != kind->side || !same_text(b->setting, kind->setting))
            continue;
        bool narrower = best == NULL ||
                        (b->side == BOUND_LOWER ? b->value > best->value : b->value < best->value);
        best = narrower ? b : best;
    }
    return best;
}

static bool is_first_of_kind(const struct making *m, size_t result, size_t bound)
{
    const struct bound *b = &m->result[result].bounds[bound];
    for (size_t k = 0; k < result; k++)
        if (bound_of(&m->result[k], b) != NULL)
            return false;
    for (size_t i = 0; i < bound; i++) {
        const struct bound *other = &m->result[result].bounds[i];
        if (other->side == b->side && same_text(other->setting, b->setting))
            return false;
    }
    return true;
}

static void add_bounds(struct making *m)
{
    for (size_t k = 0; k < m->out->n; k++)
        for (size_t i = 0; i < m->result[k].n_bounds; i++) {
            const struct bound *b = &m->result[k].bounds[i];
            if (!is_first_of_kind(m, k, i))
                continue;
            bool lower = b->side == BOUND_LOWER;
            struct sides_cell *cells =
                add_row(m, arena_printf(m->a, "%s, %s limit", layout_words(m->a, b->setting),
                                        lower ? "lower" : "upper"));
            for (size_t j = 0; j < m->out->n; j++) {
                const struct bound *x = bound_of(&m->result[j], b);
                cells[j].text = x == NULL
                                    ? "none"
                                    : setting_limit_text(m->a, m->premises, x->setting,
                                                         x->dimension, x->value, x, lower ? 1 : -1);
            }
            mark(m);
        }
}

/* ---- quantities ------------------------------------------------------------------------------ */

static const struct quantity *quantity_of(const struct result *r, const char *name)
{
    for (size_t i = 0; i < r->n_quantities; i++)
        if (same_text(r->quantities[i].name, name))
            return &r->quantities[i];
    return NULL;
}

static const char *quantity_text(struct making *m, const struct quantity *q, int decimals)
{
    if (q == NULL)
        return "none";
    struct display_unit u = svg_unit(m->premises, q->dimension, q->unit);
    const char *value = html_quantity_value(m->a, q, &u, decimals);
    const char *interval = html_interval(m->a, &u, q->low, q->high, decimals);
    if (*interval == '\0')
        return value;
    return isfinite(q->value) ? arena_printf(m->a, "%s, %s", value, interval) : interval;
}

static bool is_inside(double v, const struct quantity *q)
{
    return v >= q->low && v <= q->high;
}

/* The shots that make the difference cannot tell them apart. */
static bool are_alike(const struct quantity *a, const struct quantity *b)
{
    return a != NULL && b != NULL && is_inside(a->value, b) && is_inside(b->value, a);
}

/* With the decimals of the first that has an interval, so that what differs can be compared. */
static void add_quantity(struct making *m, const char *name)
{
    const struct quantity *q = NULL;
    int decimals = -1;
    for (size_t k = 0; k < m->out->n && decimals < 0; k++) {
        const struct quantity *x = quantity_of(&m->result[k], name);
        if (x == NULL)
            continue;
        struct display_unit u = svg_unit(m->premises, x->dimension, x->unit);
        decimals = html_decimals(&u, x->value, x->low, x->high);
        q = q == NULL ? x : q;
    }
    struct sides_cell *cells =
        add_row(m, q == NULL || html_is_empty(q->title) ? layout_words(m->a, name) : q->title);
    for (size_t k = 0; k < m->out->n; k++)
        cells[k].text = quantity_text(m, quantity_of(&m->result[k], name), decimals);
    for (size_t k = 1; k < m->out->n; k++)
        mark_cell(m, k,
                  are_alike(quantity_of(&m->result[0], name), quantity_of(&m->result[k], name)));
}

static void add_quantities(struct making *m)
{
    for (size_t k = 0; k < m->out->n; k++)
        for (size_t i = 0; i < m->result[k].n_quantities; i++) {
            const struct quantity *q = &m->result[k].quantities[i];
            bool said = quantity_of(&m->result[k], q->name) != q;
            for (size_t j = 0; j < k; j++)
                said = said || quantity_of(&m->result[j], q->name) != NULL;
            if (!said)
                add_quantity(m, q->name);
        }
}

/* ---- the whole ------------------------------------------------------------------------------- */

static bool has_column(const struct other_answer *o)
{
    return o->reason == NULL;
}

bool sides_make(struct arena *a, const struct premises *p, const struct finding *f,
                struct sides *out)
{
    struct result *r = ARENA_ARRAY(a, struct result, SIDES_MOST);
    *out = (struct sides){.heads = ARENA_ARRAY(a, const char *, SIDES_MOST), .n = 1};
    out->heads[0] = "as used";
    r[0] = (struct result){f->quantities, f->n_quantities, f->criteria, f->n_criteria,
                           f->bounds,     f->n_bounds,     f->verdict};
    for (size_t i = 0; i < f->n_other_answers && out->n < SIDES_MOST; i++) {
        const struct other_answer *o = &f->other_answers[i];
        if (!has_column(o))
            continue;
        out->heads[out->n] = o->title;
        r[out->n++] = (struct result){o->quantities, o->n_quantities, o->criteria, o->n_criteria,
                                      o->bounds,     o->n_bounds,     o->verdict};
    }
    if (out->n < 2)
        return false;
    struct making m = {a, p, r, out};
    add_study_verdict(&m);
    add_criteria(&m);
    add_bounds(&m);
    out->n_front = out->n_rows;
    add_quantities(&m);
    return true;
}

const char *sides_key(const struct sides *s)
{
    if (s->n_differ > 0)
        return "marks another verdict or limit than as used, and a number that has no interval or "
               "lies outside the other's.";
    return s->n_changed > 0 ? "No verdict and no limit differs, and every number is inside the "
                              "other's interval."
                            : "Nothing differs, as far as digits are shown.";
}

const char *sides_sentence(const struct finding *f, enum other_shots_kind which)
{
    for (size_t i = 0; i < f->n_other_answers; i++)
        if (f->other_answers[i].which == which && has_column(&f->other_answers[i]))
            return NULL;
    return which == SHOTS_WITH_EXCLUDED ? f->with_excluded : f->without_odd;
}
