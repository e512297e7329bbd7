/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Part temperature: from which closed time on is the part cold enough to be ejected? */
#include <math.h>

#include "cooling.h"

#define SAME 1e-9

static const char *kelvin(const struct cooling *c, double v)
{
    return value_text(c->a, c->trial->display, DIM_TEMPERATURE_STEP, v, v / 10.0);
}

/* A tested condition beyond the bound that is hotter than the limit all the same. */
static bool hot_again(const struct cooling_measure *m)
{
    for (size_t g = 0; g < m->blocks.n_groups; g++)
        if (m->blocks.group_x[g] >= m->decay.bound * (1.0 - SAME) &&
            m->blocks.group_mean[g] > m->high)
            return true;
    return false;
}

static enum verdict verdict_of(const struct cooling_measure *m)
{
    const struct decay_answer *r = &m->decay;
    bool scatter = r->shot_dof > 0.0 || r->curve;
    switch (r->state) {
    case DECAY_FOUND:
    case DECAY_BEFORE_FIRST:
        return scatter && !hot_again(m) ? VERDICT_MET : VERDICT_NOT_SHOWN;
    case DECAY_NOT_REACHED:
        return scatter ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
    case DECAY_OPEN:
        break;
    }
    return VERDICT_NOT_SHOWN;
}

enum errc cooling_find_temperature(struct cooling *c, struct cooling_measure *m, struct error *e)
{
    struct decay_answer *r = &m->decay;
    TRY(decay_find(c->a, &m->blocks, m->high, m->step, c->confidence, r, e));
    struct cooling_limit *l = cooling_add_limit(c, m, "ejection_temperature");
    l->verdict = cooling_cap(c, m, verdict_of(m));
    l->bounded = isfinite(r->bound);
    l->withdraws = !l->bounded;
    l->value = r->value;
    l->low = r->low;
    l->high = r->bound;
    l->model = r->curve ? "exponential decay" : "neighbour bracket";
    l->rows = m->n;
    return ERR_NONE;
}

/* ---- what is told of it ------------------------------------------------------------------------
 */

static const char *sentence_of(const struct cooling *c, const struct cooling_measure *m)
{
    const struct decay_answer *r = &m->decay;
    const struct math_blocks *b = &m->blocks;
    double half = (r->at_last_high - r->at_last_low) / 2.0;
    const char *hottest = m->n_columns > 1 ? "the hottest part of a shot" : "the part";
    const char *last = arena_printf(c->a, "at %s %s is at %s",
                                    cooling_time(c, b->group_x[b->n_groups - 1], PL_NAN), hottest,
                                    cooling_amount(c, m, r->at_last, half));
    const char *limit = cooling_limit_text(c, m, m->high);
    switch (r->state) {
    case DECAY_FOUND:
        if (hot_again(m))
            return arena_printf(c->a,
                                "%s, but beyond the time at which the curve falls to %s a "
                                "tested time gave hotter parts",
                                last, limit);
        return arena_printf(c->a, "%s; it is below %s from %s on%s", last, limit,
                            cooling_time(c, r->bound, c->time_step),
                            verdict_of(m) == VERDICT_MET ? "" : ", as far as single shots tell");
    case DECAY_BEFORE_FIRST:
        return arena_printf(c->a, "%s; it is below %s at the shortest tested time already%s", last,
                            limit,
                            verdict_of(m) == VERDICT_MET ? "" : ", as far as single shots tell");
    case DECAY_NOT_REACHED:
        return arena_printf(c->a, "%s, above the %s allowed", last, limit);
    case DECAY_OPEN:
        break;
    }
    return arena_printf(
        c->a, "%s (%s), which is not shown to be below %s", last,
        interval_text(c->a, c->trial->display, DIM_TEMPERATURE, r->at_last_low, r->at_last_high),
        limit);
}

/* As one more round of all cooling times: until the interval at the longest one leaves the limit
 * out. */
static int shots_to_decide(const struct cooling *c, const struct cooling_measure *m)
{
    const struct decay_answer *d = &m->decay;
    double blocks = (double)m->blocks.n_blocks;
    if (!(d->shot_dof > 0.0))
        return SHOTS_NOT_KNOWN;
    struct math_round r = {
        .gap = fabs(m->high - d->at_last),
        .half = (d->at_last_high - d->at_last_low) / 2.0,
        .confidence = c->confidence,
        .dof = d->curve ? blocks - 3.0 : d->shot_dof,
        .conditions = blocks,
        .n = (double)m->blocks.n_rows / blocks,
        .shot = d->shot_sd * d->shot_sd,
        .condition = isnan(d->block_sd) ? 0.0 : d->block_sd * d->block_sd,
    };
    return math_round_to_decide(&r);
}

static void note_criterion(struct cooling *c, struct cooling_measure *m)
{
    const struct decay_answer *r = &m->decay;
    struct criterion *k = finding_criterion(c->f, "ejection_temperature");
    k->title = "part cold enough to be ejected";
    k->dimension = DIM_TEMPERATURE;
    k->limit_wording = arena_printf(c->a, "at most %s", cooling_limit_text(c, m, m->high));
    k->limit = m->high;
    k->value = r->at_last;
    if (r->at_last_high > r->at_last_low) {
        k->low = r->at_last_low;
        k->high = r->at_last_high;
        k->level = c->confidence;
    }
    k->sides = 2;
    k->origin = 'G';
    k->verdict = cooling_cap(c, m, verdict_of(m));
    k->because = sentence_of(c, m);
    if (k->verdict == VERDICT_NOT_SHOWN)
        k->shots_to_decide =
            verdict_of(m) == VERDICT_NOT_SHOWN && c->hold_from != NULL ? shots_to_decide(c, m) : 0;
}

static void note_model(struct cooling *c, const struct cooling_measure *m)
{
    const struct decay_answer *r = &m->decay;
    static const char *const parameter[] = {"end", "drop", "tau"};
    struct model *k = finding_model(c->f, "exponential decay");
    k->series = m->words;
    k->formula = "end + drop exp(-(x - x1) / tau)";
    k->tried = r->curve;
    k->in_play = k->chosen = r->curve;
    k->answer_dimension = DIM_TIME;
    k->stop = r->curve ? r->stop : "fewer than five cooling times, or no fall";
    if (!r->curve)
        return;
    study_model_parameters(k, 3, parameter, r->parameter, &r->covariance[0][0],
                           PL_COUNT(r->covariance[0]));
    double dof = (double)m->blocks.n_rows - 3.0;
    k->residual_sd = sqrt((r->rss + m->blocks.sspe) / dof);
    k->rank = r->rank;
    k->condition_number = r->condition_number;
    k->misfit_p = r->misfit_p;
    k->answer = r->value;
    k->answer_low = r->low;
    k->answer_high = r->high;
}

void cooling_note_temperature(struct cooling *c, struct cooling_measure *m)
{
    const struct decay_answer *r = &m->decay;
    note_criterion(c, m);
    struct quantity *q =
        finding_quantity(c->f, "ejection_temperature_reached",
                         arena_printf(c->a, "%s at which the part has cooled to %s",
                                      cooling_axis(c), cooling_limit_text(c, m, m->high)),
                         DIM_TIME);
    q->value = r->value;
    q->low = r->low;
    q->high = r->state == DECAY_NOT_REACHED ? PL_INF : r->high;
    q->level = c->confidence;
    q->sides = 2;
    q->method = r->curve ? "exponential decay to a free end value; exact profile of the crossing, "
                           "the wider of shots and conditions"
                         : "neighbouring tested times";
    if (isnan(q->value))
        q->reason = r->state == DECAY_BEFORE_FIRST ? "colder than that at the shortest tested time"
                    : r->state == DECAY_FOUND      ? "only the interval is known"
                                                   : "not reached in the tested range";
    note_model(c, m);
    if (r->curve && r->block_sd > 0.0 && r->shot_sd > 0.0)
        q->method = arena_printf(c->a, "%s; %s of scatter from condition to condition allowed for",
                                 q->method, kelvin(c, r->block_sd));
}
