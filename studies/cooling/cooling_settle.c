/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Movement: from which closed time on does a dimension stay within the tolerance of its end value?
 */
#include <math.h>

#include "cooling.h"

/* The sign of the slope over all blocks: a curve that rises to its end correlates positively. */
static int direction_of(const struct math_blocks *b)
{
    double w = 0.0, xm = 0.0, sxy = 0.0;
    for (size_t i = 0; i < b->n_blocks; i++) {
        w += (double)b->b[i].n;
        xm += (double)b->b[i].n * b->b[i].x;
    }
    for (size_t i = 0; i < b->n_blocks; i++)
        sxy += (double)b->b[i].n * (b->b[i].x - xm / w) * (b->b[i].mean - b->b[0].mean);
    return sxy < 0.0 ? -1 : 1;
}

/* Where nothing is judged by movement the curve serves for the scatter alone. */
static double nominal_tolerance(const struct math_blocks *b)
{
    double low = PL_INF, high = -PL_INF;
    for (size_t i = 0; i < b->n_blocks; i++) {
        low = fmin(low, b->b[i].mean);
        high = fmax(high, b->b[i].mean);
    }
    return high > low ? 0.1 * (high - low) : 1e-9 * (1.0 + fabs(low));
}

static double tolerance_of(const struct cooling *c, const struct cooling_measure *m)
{
    bool absolute = !isnan(c->tolerance_length) && m->dimension == DIM_LENGTH;
    return absolute ? c->tolerance_length : c->tolerance_share * (m->high - m->low);
}

/* What is not known of the trial keeps a criterion from being shown, or from being shown missed. */
enum verdict cooling_cap(const struct cooling *c, const struct cooling_measure *m, enum verdict v)
{
    bool age = m != NULL && !m->temperature && c->age != COOLING_AGE_FINE;
    return v != VERDICT_NONE && (age || c->hold_from == NULL) ? VERDICT_NOT_SHOWN : v;
}

static void limit_from_plateau(struct cooling *c, struct cooling_measure *m)
{
    const struct plateau_answer *r = &m->r;
    struct cooling_limit *l = cooling_add_limit(c, m, "cooling_tolerance");
    l->verdict = cooling_cap(c, m, study_plateau_verdict(r));
    l->bounded = isfinite(r->bound);
    l->withdraws = !l->bounded;
    l->value = r->state == PLATEAU_FOUND ? r->value : PL_NAN;
    l->low = isnan(r->low) ? -PL_INF : r->low;
    l->high = r->bound;
    l->model = r->state == PLATEAU_FOUND ? r->family[r->best].name : "neighbour bracket";
    l->rows = m->n;
}

enum errc cooling_settle(struct cooling *c, struct cooling_measure *m, struct error *e)
{
    math_blocks_make(c->a, m->x, m->y, m->n, &m->blocks);
    m->options = (struct plateau_options){
        .tolerance_absolute = m->settles ? tolerance_of(c, m) : nominal_tolerance(&m->blocks),
        .tolerance_relative = PL_NAN,
        .step = m->settles ? m->step : 0.0,
        .confidence = c->confidence,
        .direction = direction_of(&m->blocks)};
    TRY(plateau_find(c->a, &m->blocks, &m->options, &m->r, e));
    if (m->settles)
        limit_from_plateau(c, m);
    return ERR_NONE;
}

/* ---- what is told of it ------------------------------------------------------------------------
 */

static const char *amount(const struct cooling *c, const struct cooling_measure *m, double v)
{
    return cooling_amount(c, m, fabs(v), m->r.tolerance / 10.0);
}

static const char *sentence_of(const struct cooling *c, const struct cooling_measure *m)
{
    const struct plateau_answer *r = &m->r;
    const struct math_blocks *b = &m->blocks;
    if (b->n_groups < 2)
        return arena_printf(c->a, "there is only one %s: run shorter and longer ones",
                            cooling_axis(c));
    const char *delta = cooling_amount(c, m, r->tolerance, PL_NAN), *rise = amount(c, m, r->rise);
    const char *from = cooling_time(c, b->group_x[r->rise_from], PL_NAN);
    const char *to = cooling_time(c, b->group_x[b->n_groups - 1], PL_NAN);
    enum verdict v = study_plateau_verdict(r);
    if (v == VERDICT_MET)
        return arena_printf(c->a,
                            "between %s and %s %s changes by less than %s, shown by two one-sided "
                            "tests at 5 %%",
                            from, to, m->words, delta);
    if (v == VERDICT_NOT_MET)
        return arena_printf(c->a, "between %s and %s %s changes by %s, more than %s", from, to,
                            m->words, rise, delta);
    if (r->state == PLATEAU_UNDECIDED)
        return arena_printf(c->a,
                            "a straight line describes %s as well as a curve that levels off does; "
                            "longer cooling times would show it",
                            m->words);
    if (r->state == PLATEAU_OPEN)
        return arena_printf(c->a,
                            "fewer than two tested times lie beyond the interval in which %s "
                            "settles; longer cooling times would show it",
                            m->words);
    if (!(r->rise_se > 0.0) && r->state != PLATEAU_NOT_REACHED)
        return "with one shot at each cooling time nothing shows that the end is flat";
    return arena_printf(c->a,
                        "between %s and %s %s changes by %s; the shots do not show whether that "
                        "%s %s",
                        from, to, m->words, rise,
                        r->state == PLATEAU_NOT_REACHED ? "is more than" : "stays within", delta);
}

/* What keeps a good figure from counting. */
static const char *with_cap(const struct cooling *c, const struct cooling_measure *m,
                            const char *sentence)
{
    if (cooling_cap(c, m, VERDICT_MET) == VERDICT_MET)
        return sentence;
    const char *why = c->age == COOLING_AGE_NOT_GIVEN   ? "the age of the parts is not given"
                      : c->age == COOLING_AGE_TOO_YOUNG ? "the parts were measured too young"
                                                        : "the hold time is not given: "
                                                          "enter it in a column hold_time, or "
                                                          "in trial.ini, [running] hold_time";
    return arena_printf(c->a, "%s; this does not count as shown, because %s", sentence, why);
}

static int shots_to_decide(const struct cooling *c, const struct cooling_measure *m, enum verdict v,
                           const char **sentence)
{
    const struct plateau_answer *r = &m->r;
    bool decided = study_plateau_verdict(r) != VERDICT_NOT_SHOWN;
    if (v != VERDICT_NOT_SHOWN)
        return 0;
    if (decided || cooling_cap(c, m, VERDICT_MET) != VERDICT_MET || m->blocks.n_groups < 2)
        return 0; /* the sentence says what is missing */
    if (!(r->shot_dof > 0.0) && m->blocks.n_groups > 1)
        return SHOTS_NOT_KNOWN;
    bool more_shots_help = r->state == PLATEAU_FOUND || r->state == PLATEAU_BRACKET_ONLY ||
                           r->state == PLATEAU_BEFORE_FIRST;
    if (!more_shots_help)
        return -1;
    return study_plateau_shots(c->a, &m->blocks, &m->options, r, sentence);
}

static void note_criterion(struct cooling *c, struct cooling_measure *m)
{
    const struct plateau_answer *r = &m->r;
    const struct fact *fact = facts_find(&c->trial->facts, "criteria", "cooling_tolerance");
    bool given = fact != NULL && fact->given;
    bool absolute = given && !isnan(c->tolerance_length) && m->dimension == DIM_LENGTH;
    struct criterion *k = finding_criterion(c->f, "cooling_tolerance");
    k->title = arena_printf(c->a, "%s settled before the mold opens", m->words);
    k->dimension = m->dimension;
    k->limit_wording = absolute ? fact->text
                                : arena_printf(c->a, "%s of the tolerance band of %s",
                                               cooling_share_text(c, c->tolerance_share), m->words);
    k->limit = r->tolerance;
    k->value = r->rise;
    k->low = r->rise_low;
    k->high = r->rise_high;
    k->level = isnan(r->rise_low) ? PL_NAN : 0.90; /* two one-sided tests at 5 % */
    k->sides = 2;
    k->origin = given ? 'G' : 'O';
    k->verdict = cooling_cap(c, m, study_plateau_verdict(r));
    k->because = with_cap(c, m, sentence_of(c, m));
    k->shots_to_decide = shots_to_decide(c, m, k->verdict, &k->because);
}

static const char *no_value_reason(const struct cooling_measure *m)
{
    switch (m->r.state) {
    case PLATEAU_FOUND:
    case PLATEAU_OPEN:
        return "the fitted value lies outside the tested times";
    case PLATEAU_BRACKET_ONLY:
        return "too few cooling times for a curve: only the interval is known";
    case PLATEAU_BEFORE_FIRST:
        return "settled at the shortest tested time already";
    case PLATEAU_UNDECIDED:
        return "the data do not tell whether it levels off";
    case PLATEAU_NOT_REACHED:
        break;
    }
    return "still moving at the longest tested time";
}

static void note_settling(struct cooling *c, struct cooling_measure *m)
{
    const struct plateau_answer *r = &m->r;
    struct quantity *q = finding_quantity(
        c->f, arena_printf(c->a, "%s_settled", m->name),
        arena_printf(c->a, "%s from which on %s stays within %s of its end value", cooling_axis(c),
                     m->words, cooling_amount(c, m, r->tolerance, PL_NAN)),
        DIM_TIME);
    q->value = r->state == PLATEAU_FOUND || r->state == PLATEAU_OPEN ? r->value : PL_NAN;
    q->reason = isnan(q->value) ? no_value_reason(m) : NULL;
    q->method = r->state == PLATEAU_FOUND || r->state == PLATEAU_OPEN
                    ? "value of the best curve; interval: hull of the exact profiles of all curves "
                      "in play that level off and of the neighbour bracket"
                    : "neighbour bracket";
    if (r->state == PLATEAU_UNDECIDED || r->state == PLATEAU_NOT_REACHED)
        return;
    q->low = r->low;
    q->high = r->high;
    q->level = c->confidence;
    q->sides = 2;
}

static void note_scatter(struct cooling *c, struct cooling_measure *m)
{
    bool fell = m->temperature && m->decay.curve;
    double block = fell                     ? m->decay.block_sd
                   : isnan(m->r.revisit_sd) ? m->r.block_sd
                                            : m->r.revisit_sd;
    enum dimension d = m->temperature ? DIM_TEMPERATURE_STEP : m->dimension;
    struct quantity *q =
        finding_quantity(c->f, arena_printf(c->a, "%s_shot_sd", m->name),
                         arena_printf(c->a, "%s: scatter from shot to shot (sd)", m->words), d);
    q->value = m->r.shot_sd;
    q->method = m->n_columns > 1 && !m->temperature
                    ? "mean of the cavities, pooled within conditions"
                    : "pooled within conditions";
    q->reason = isnan(q->value) ? "no cooling time has two shots" : NULL;
    q = finding_quantity(
        c->f, arena_printf(c->a, "%s_condition_sd", m->name),
        arena_printf(c->a, "%s: scatter from condition to condition (sd)", m->words), d);
    q->value = block;
    q->method = fell || isnan(m->r.revisit_sd)
                    ? "around the best curve, in excess of the shots' scatter"
                    : "from cooling times run twice, in excess of the shots' scatter";
    q->reason = isnan(q->value) ? "needs repeated shots and a fitted curve" : NULL;
}

static void note_models(struct cooling *c, const struct cooling_measure *m)
{
    for (int id = 0; id < FAMILY_N; id++) {
        struct model *k = study_note_family(c->f, m->words, &m->r.family[id]);
        k->chosen = id == m->r.best && m->r.state == PLATEAU_FOUND;
        k->answer_dimension = DIM_TIME;
    }
}

void cooling_note_conditions(struct cooling *c, const struct cooling_measure *m)
{
    const struct math_blocks *b = &m->blocks;
    const struct family_fit *best = m->settles && m->r.best >= 0 ? &m->r.family[m->r.best] : NULL;
    double k = best != NULL ? cooling_band_factor(c, m, best) : PL_NAN;
    for (size_t i = 0; i < b->n_blocks; i++) {
        struct condition *n = finding_condition(c->f);
        n->series = m->words;
        n->setting_dimension = DIM_TIME;
        n->dimension = m->dimension;
        n->setting = b->b[i].x;
        n->block = (int)i + 1;
        n->n = b->b[i].n;
        n->mean = b->b[i].mean;
        n->sd = b->b[i].n > 1 ? sqrt(b->b[i].ss / (double)(b->b[i].n - 1)) : PL_NAN;
        n->file = cooling_file(c, m->shot[b->b[i].first]);
        n->first_line = cooling_line(c, m->shot[b->b[i].first]);
        if (m->temperature)
            n->fitted = decay_value(&m->decay, b->b[i].x, b->group_x[0]);
        if (best == NULL)
            continue;
        double half = k * family_value_se(best, b->b[i].x, b->group_x[0]);
        n->fitted = family_value(best, b->b[i].x, b->group_x[0]);
        n->fitted_low = n->fitted - half;
        n->fitted_high = n->fitted + half;
    }
}

void cooling_note_settled(struct cooling *c, struct cooling_measure *m)
{
    if (m->settles) {
        note_criterion(c, m);
        note_settling(c, m);
        note_models(c, m);
    }
    note_scatter(c, m);
}
