/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From fitted families to the answer: choice, hull, bracket, state. */
#include <math.h>

#include "math/plateau_internal.h"

#define IN_PLAY 7.0       /* AICc units */
#define MEANS_IN_PLAY 4.0 /* the same, by means of blocks */
#define DISAGREE 2.0      /* standard errors */
#define TIE 1e-9
#define SAME_X 1e-9 /* relative: settings that agree */

void plateau_frame(struct arena *a, const struct math_blocks *b, const struct plateau_options *o,
                   struct fit_frame *k)
{
    size_t m = b->n_blocks;
    double *x = ARENA_ARRAY(a, double, m), *y = ARENA_ARRAY(a, double, m);
    double *log_x = ARENA_ARRAY(a, double, m);
    double *w = ARENA_ARRAY(a, double, m), *knots = ARENA_ARRAY(a, double, b->n_groups);
    double low = INFINITY, high = -INFINITY, range = b->group_x[b->n_groups - 1] - b->group_x[0];
    for (size_t i = 0; i < m; i++) {
        low = fmin(low, b->b[i].mean);
        high = fmax(high, b->b[i].mean);
    }
    *k = (struct fit_frame){.blocks = b,
                            .direction = o->direction < 0 ? -1.0 : 1.0,
                            .step = o->step,
                            .x_scale = range > 0.0 ? range : 1.0,
                            .y_scale = high > low ? high - low : 1.0,
                            .y_shift = b->b[0].mean,
                            .t = arena_array(a, 2, sizeof(double[6]))};
    struct scaled *s = &k->scaled;
    *s = (struct scaled){.m = m,
                         .x = x,
                         .y = y,
                         .w = w,
                         .n_knots = b->n_groups,
                         .knots = knots,
                         .spacing = 1.0,
                         .log_x = log_x,
                         .g = ARENA_ARRAY(a, double, m)};
    for (size_t j = 0; j < b->n_groups; j++) {
        knots[j] = b->group_x[j] / k->x_scale;
        if (j > 0)
            s->spacing = fmin(s->spacing, knots[j] - knots[j - 1]);
    }
    s->x0 = knots[0];
    for (size_t i = 0; i < m; i++) {
        x[i] = knots[b->b[i].group];
        log_x[i] = x[i] > 0.0 ? log(x[i]) : 0.0;
        y[i] = k->direction * (b->b[i].mean - k->y_shift) / k->y_scale;
        w[i] = (double)b->b[i].n;
        s->w_sum += w[i];
    }
    for (size_t i = 0; i < m; i++)
        s->y_mean += w[i] * y[i] / s->w_sum;
}

/* ---- choice -------------------------------------------------------------------------------------
 */

/* AICc on rows takes all misfit of block means for curvature. Where conditions scatter more than
 * shots, sums are therefore also compared in units of the means' variance around the best curve. */
static bool play_by_means(const struct fit_frame *k, const struct family_fit *best,
                          const struct family_fit *f)
{
    double dof = (double)k->blocks->n_blocks - (double)best->p;
    double v = dof > 0.0 ? best->rss_means / dof : 0.0;
    double more = (double)f->p - (double)best->p;
    return v > 0.0 && (f->rss_means - best->rss_means) / v + 2.0 * more <= MEANS_IN_PLAY;
}

static void choose(const struct fit_frame *k, struct plateau_answer *out)
{
    double least = INFINITY, sum = 0.0;
    out->best = -1;
    for (int id = 0; id < FAMILY_N; id++) {
        struct family_fit *f = &out->family[id];
        if (!f->tried)
            continue;
        least = fmin(least, f->aicc);
        if (f->plateau && (out->best < 0 || f->aicc < out->family[out->best].aicc - TIE))
            out->best = id;
    }
    for (int id = 0; id < FAMILY_N; id++) {
        struct family_fit *f = &out->family[id];
        f->in_play = f->tried && f->aicc <= least + IN_PLAY + TIE;
        f->by_means =
            f->tried && f->plateau && !f->in_play && play_by_means(k, &out->family[out->best], f);
        f->in_play = f->in_play || f->by_means;
        if (f->tried)
            sum += exp(-0.5 * (f->aicc - least));
    }
    for (int id = 0; id < FAMILY_N; id++) {
        struct family_fit *f = &out->family[id];
        f->weight = f->tried ? exp(-0.5 * (f->aicc - least)) / sum : 0.0;
    }
}

static double last_two_mean(const struct math_blocks *b)
{
    size_t g = b->n_groups;
    if (g < 2)
        return b->group_mean[g - 1];
    double n1 = (double)b->group_n[g - 1], n2 = (double)b->group_n[g - 2];
    return b->group_mean[g - 1] + (b->group_mean[g - 2] - b->group_mean[g - 1]) * (n2 / (n1 + n2));
}

static void set_tolerance(const struct math_blocks *b, const struct plateau_options *o,
                          struct plateau_answer *out)
{
    out->tolerance = o->tolerance_absolute;
    if (!isnan(o->tolerance_relative)) {
        /* of what was weighed at the longest settings: a fitted plateau may lie far outside the
         * data */
        out->tolerance = o->tolerance_relative * fabs(last_two_mean(b));
    }
    out->tolerance_raised = o->step > out->tolerance * (1.0 + TIE);
    if (out->tolerance_raised)
        out->tolerance = o->step;
}

/* ---- the interval of one family -----------------------------------------------------------------
 */

static double t_value(double *kept, double quantile, double dof)
{
    if (!(*kept > 0.0))
        *kept = math_t_quantile(quantile, dof);
    return *kept;
}

double plateau_room(const struct fit_frame *k, const struct family_fit *f, double confidence)
{
    const struct math_blocks *b = k->blocks;
    double p = (double)f->p, least = k->step * k->step / 12.0;
    double dof_rows = (double)b->n_rows - p, dof_means = (double)b->n_blocks - p;
    double quantile = 0.5 + confidence / 2.0;
    double t_rows = t_value(&k->t[0][f->p], quantile, dof_rows);
    double t_means = t_value(&k->t[1][f->p], quantile, dof_means);
    double v_rows = fmax(f->rss / dof_rows, least);
    /* shots that all round alike share one rounding error: their mean is no better than one shot */
    double shot_dof = (double)(b->n_rows - b->n_blocks);
    double shot_sd = shot_dof > 0.0 ? sqrt(b->sspe / shot_dof) : PL_INF;
    double n0 = (double)b->n_rows / (double)b->n_blocks;
    double v_means = fmax(f->rss_means / dof_means, shot_sd < k->step / 2.0 ? n0 * least : least);
    return fmax(v_rows * t_rows * t_rows, v_means * t_means * t_means);
}

/* In scaled units. */
static double criterion(const struct fit_frame *k, const struct family_fit *f, double confidence)
{
    double room = plateau_room(k, f, confidence);
    double tiny = 1e-26 * k->scaled.w_sum; /* exact data: keep the region wider than rounding */
    return k->inner[f->id].s0 + room / (k->y_scale * k->y_scale) + tiny;
}

static double inside(const struct fit_frame *k, double x, bool high)
{
    const struct math_blocks *b = k->blocks;
    if (high && x > b->group_x[b->n_groups - 1] * (1.0 + SAME_X))
        return INFINITY;
    if (!high && x < b->group_x[0] * (1.0 - SAME_X))
        return -INFINITY;
    return x;
}

static void family_answer(const struct fit_frame *k, struct family_fit *f, double tolerance,
                          double confidence)
{
    const struct family *form = family_of(f->id);
    const struct inner *in = &k->inner[f->id];
    double delta = tolerance / k->y_scale;
    f->answer = form->inverse(delta / in->a, k->theta[f->id], k->scaled.x0) * k->x_scale;
    if (!f->in_play)
        return;
    struct extremes x;
    family_extremes(form, &k->scaled, criterion(k, f, confidence), delta, f->answer / k->x_scale,
                    in->p, &x);
    f->answer_low = inside(k, fmin(f->answer, x.f_low * k->x_scale), false);
    f->answer_high = inside(k, fmax(f->answer, x.f_high * k->x_scale), true);
    if (x.p_low > x.p_high) /* exact data: a region narrower than rounding */
        x.p_low = x.p_high = in->p;
    double p1 = k->direction * x.p_low * k->y_scale + k->y_shift;
    double p2 = k->direction * x.p_high * k->y_scale + k->y_shift;
    f->level_low = fmin(f->level, fmin(p1, p2));
    f->level_high = fmax(f->level, fmax(p1, p2));
    if (x.open_top) {
        f->answer_high = INFINITY;
        if (k->direction > 0.0)
            f->level_high = INFINITY;
        else
            f->level_low = -INFINITY;
    }
    if (!form->smooth) {
        if (x.c_low > x.c_high)
            x.c_low = x.c_high = k->theta[f->id][0];
        f->start_low = fmin(f->start, x.c_low * k->x_scale);
        f->start_high = x.open_top ? PL_INF : fmax(f->start, x.c_high * k->x_scale);
    }
}

static void note_misfit(const struct fit_frame *k, struct family_fit *f, double tolerance)
{
    const struct math_blocks *b = k->blocks;
    double most = 0.0;
    for (size_t i = 0; i < b->n_blocks; i++) {
        double y = family_value(f, b->b[i].x, b->group_x[0]);
        most = fmax(most, fabs(b->b[i].mean - y));
    }
    f->misfit = most / tolerance;
}

/* ---- the neighbour bracket
 * -------------------------------------------------------------------------- */

struct bracket {
    bool agree; /* the last two conditions */
    bool all_within;
    size_t first_within; /* from here on every condition is within the tolerance of the last two */
    long last_below;     /* last condition more than the tolerance below, or -1 */
};

/* Standard error of a condition's mean against that of the last two: the larger of the shots'
 * scatter and the blocks' around the best curve. 0 where neither is known. */
static double bracket_error(const struct fit_frame *k, const struct plateau_answer *out, size_t g)
{
    const struct math_blocks *b = k->blocks;
    size_t last = b->n_groups - 1;
    double v = out->shot_dof > 0.0 ? out->shot_sd * out->shot_sd : 0.0;
    if (out->best >= 0) {
        const struct family_fit *f = &out->family[out->best];
        v = fmax(v, f->rss_means / ((double)b->n_blocks - (double)f->p));
    }
    double n = (double)(b->group_n[last] + b->group_n[last - 1]);
    return sqrt(v * (1.0 / (double)b->group_n[g] + 1.0 / n));
}

/* At the upper end a condition counts as within only when its mean is so by one standard error:
 * without that the end falls one condition short in a fifth of trials whose true deficit there is a
 * quarter of the tolerance beyond it. (The same at the lower end doubles the width and adds
 * nothing.) Without curves the lower end moves back over conditions that lie below by less than
 * t(0.975) standard errors, since nothing else guards it. */
static struct bracket bracket_find(const struct fit_frame *k, const struct plateau_answer *out,
                                   bool curves)
{
    const struct math_blocks *b = k->blocks;
    double level = last_two_mean(b), delta = out->tolerance * (1.0 + TIE);
    size_t last = b->n_groups - 1;
    struct bracket r = {.last_below = -1, .first_within = last - 1};
    /* where curves show the plateau only a difference beyond chance speaks against it */
    double chance = curves ? DISAGREE * bracket_error(k, out, last) : 0.0;
    r.agree = fabs(b->group_mean[last] - b->group_mean[last - 1]) <= delta + chance;
    r.all_within = fabs(b->group_mean[last] - b->group_mean[last - 1]) <= delta;
    for (size_t j = 0; j < b->n_groups; j++)
        r.all_within &= fabs(b->group_mean[j] - level) <= delta;
    while (r.first_within > 0) {
        size_t j = r.first_within - 1;
        double room = fmax(0.0, delta - bracket_error(k, out, j));
        if (!(fabs(b->group_mean[j] - level) <= room))
            break;
        r.first_within--;
    }
    double t = out->shot_dof > 0.0 && !curves ? math_t_quantile(0.975, out->shot_dof) : 0.0;
    for (size_t j = 0; j < r.first_within; j++) {
        double below = k->direction * (level - b->group_mean[j]);
        if (below > delta + t * bracket_error(k, out, j))
            r.last_below = (long)j;
    }
    return r;
}

static void note_bracket(const struct fit_frame *k, const struct bracket *r,
                         struct plateau_answer *out)
{
    if (!r->agree)
        return;
    out->bracket_high = k->blocks->group_x[r->first_within];
    out->bracket_low = r->last_below >= 0 ? k->blocks->group_x[r->last_below] : -PL_INF;
}

/* ---- states
 * ------------------------------------------------------------------------------------------ */

/* A family that is in play by means alone widens the interval, but leaves the two conditions that a
 * plateau is shown by beyond it: that there is one is told by the shape, not by this family. */
static double upper_end(const struct math_blocks *b, const struct family_fit *f)
{
    if (!f->by_means || b->n_groups < 2)
        return f->answer_high;
    return fmin(f->answer_high, b->group_x[b->n_groups - 2]);
}

static void hull(const struct math_blocks *b, struct plateau_answer *out)
{
    out->low = INFINITY;
    out->high = -INFINITY;
    for (int id = 0; id < FAMILY_N; id++) {
        const struct family_fit *f = &out->family[id];
        if (!f->plateau || !f->in_play)
            continue;
        out->low = fmin(out->low, f->answer_low);
        double high = upper_end(b, f);
        if (high > out->high) {
            out->high = high;
            out->high_from = END_FAMILY;
            out->high_family = id;
        }
        if (isfinite(f->level_low) || !f->by_means)
            out->level_low = fmin(isnan(out->level_low) ? PL_INF : out->level_low, f->level_low);
        if (isfinite(f->level_high) || !f->by_means)
            out->level_high =
                fmax(isnan(out->level_high) ? -PL_INF : out->level_high, f->level_high);
        if (!isnan(f->start)) {
            out->start_low = fmin(isnan(out->start_low) ? PL_INF : out->start_low, f->start_low);
            out->start_high =
                fmax(isnan(out->start_high) ? -PL_INF : out->start_high, f->start_high);
        }
    }
    if (!isnan(out->bracket_high)) {
        out->low = fmin(out->low, out->bracket_low);
        if (out->bracket_high >= out->high) {
            out->high = out->bracket_high;
            out->high_from = END_BRACKET;
        }
    }
}

static size_t first_group_from(const struct math_blocks *b, double x)
{
    size_t g = 0;
    while (g < b->n_groups && b->group_x[g] < x * (1.0 - SAME_X) - 1e-12)
        g++;
    return g;
}

static void decide_curves(const struct fit_frame *k, struct plateau_answer *out)
{
    const struct math_blocks *b = k->blocks;
    const struct family_fit *best = &out->family[out->best];
    double dof = (double)b->n_blocks - (double)best->p;
    hull(b, out);
    size_t beyond = isfinite(out->high) ? first_group_from(b, out->high) : b->n_groups;
    out->n_beyond = b->n_groups - beyond;
    if (out->shape_shown && out->n_beyond >= 2) {
        plateau_rise_test(k, out, beyond, best->rss_means, dof);
        out->state = out->verdict < 0 ? PLATEAU_NOT_REACHED : PLATEAU_FOUND;
    } else {
        /* look at the slope where the plateau should be: from the best value on, else the last two
         */
        size_t from = isfinite(best->answer) ? first_group_from(b, best->answer) : b->n_groups;
        if (from + 2 > b->n_groups || !out->shape_shown)
            from = b->n_groups - 2;
        plateau_rise_test(k, out, from, best->rss_means, dof);
        out->state = out->verdict < 0   ? PLATEAU_NOT_REACHED
                     : out->shape_shown ? PLATEAU_OPEN
                                        : PLATEAU_UNDECIDED;
        if (out->verdict > 0)
            out->verdict = 0; /* flat at the end, but the rise to it is not told from a slope */
    }
    out->level = best->level;
    out->start = best->start;
    if (out->state == PLATEAU_FOUND || out->state == PLATEAU_OPEN) {
        out->value = best->answer;
        /* a value is no better than its interval: both ends where there are data */
        if (out->value < b->group_x[0] || out->value > b->group_x[b->n_groups - 1] ||
            !isfinite(out->high))
            out->value = NAN;
    }
    if (out->state == PLATEAU_FOUND)
        out->bound = fmax(out->high, b->group_x[0]);
    else
        out->high = INFINITY;
    if (out->state == PLATEAU_NOT_REACHED || out->state == PLATEAU_UNDECIDED) {
        out->low = -INFINITY;
        out->start = out->start_low = out->start_high = NAN;
        out->level = out->level_low = out->level_high = NAN;
    } else if (isnan(out->start)) {
        out->start_low = out->start_high = NAN;
    }
}

static void decide_bracket(const struct fit_frame *k, const struct bracket *r,
                           struct plateau_answer *out)
{
    const struct math_blocks *b = k->blocks;
    size_t last = b->n_groups - 1;
    if (!r->agree) {
        plateau_rise_test(k, out, last - 1, 0.0, 0.0);
        bool single = !(out->shot_dof > 0.0);
        out->state = single || out->verdict < 0 ? PLATEAU_NOT_REACHED : PLATEAU_UNDECIDED;
        return;
    }
    out->state = PLATEAU_BRACKET_ONLY;
    out->low = out->bracket_low;
    out->high = out->bound = out->bracket_high;
    out->high_from = END_BRACKET;
    out->level = last_two_mean(b);
    out->n_beyond = b->n_groups - r->first_within;
    plateau_rise_test(k, out, r->first_within, 0.0, 0.0);
    if (out->verdict < 0)
        out->verdict = 0; /* the last two agree within the tolerance */
}

static void decide_before_first(const struct fit_frame *k, struct plateau_answer *out)
{
    const struct math_blocks *b = k->blocks;
    const struct family_fit *line = &out->family[FAMILY_LINE];
    out->state = PLATEAU_BEFORE_FIRST;
    out->low = -INFINITY;
    out->high = out->bound = b->group_x[0];
    out->high_from = END_BRACKET;
    out->level = last_two_mean(b);
    out->n_beyond = b->n_groups;
    double dof = line->tried ? (double)b->n_blocks - 2.0 : 0.0;
    plateau_rise_test(k, out, 0, line->tried ? line->rss_means : 0.0, dof);
    if (out->verdict < 0)
        out->verdict = 0;
}

static void answer_init(struct plateau_answer *out)
{
    out->state = PLATEAU_UNDECIDED;
    out->best = -1;
    double *const none[] = {
        &out->value,       &out->low,          &out->high,      &out->bound,     &out->start,
        &out->start_low,   &out->start_high,   &out->level,     &out->level_low, &out->level_high,
        &out->bracket_low, &out->bracket_high, &out->shape_gap, &out->rise,      &out->rise_low,
        &out->rise_high,   &out->rise_se,      &out->shot_sd,   &out->block_sd,  &out->revisit_sd};
    for (size_t i = 0; i < PL_COUNT(none); i++)
        *none[i] = NAN;
}

void plateau_conclude(const struct fit_frame *k, const struct plateau_options *options,
                      bool with_intervals, struct plateau_answer *out)
{
    const struct math_blocks *blocks = k->blocks;
    answer_init(out);
    choose(k, out);
    plateau_shape(k, out);
    set_tolerance(blocks, options, out);
    const struct family_fit *best = out->best >= 0 ? &out->family[out->best] : NULL;
    double dof_fit = best != NULL ? (double)blocks->n_blocks - (double)best->p : 0.0;
    plateau_scatter(k, out, best != NULL ? best->rss_means : 0.0, dof_fit);
    if (blocks->n_groups < 2)
        return;
    struct bracket r = bracket_find(k, out, best != NULL);
    note_bracket(k, &r, out);
    for (int id = 0; id < FAMILY_N; id++)
        if (out->family[id].tried)
            note_misfit(k, &out->family[id], out->tolerance);
    if (r.agree && r.all_within) {
        decide_before_first(k, out);
        return;
    }
    for (int id = 0; with_intervals && id < FAMILY_N; id++)
        if (out->family[id].plateau && out->family[id].tried)
            family_answer(k, &out->family[id], out->tolerance, options->confidence);
    if (best != NULL)
        decide_curves(k, out);
    else
        decide_bracket(k, &r, out);
}

enum errc plateau_find(struct arena *a, const struct math_blocks *blocks,
                       const struct plateau_options *options, struct plateau_answer *out,
                       struct error *e)
{
    math_quiet();
    *out = (struct plateau_answer){.state = PLATEAU_UNDECIDED};
    answer_init(out);
    for (size_t i = 0; i < blocks->n_blocks; i++)
        if (!isfinite(blocks->b[i].mean) || !isfinite(blocks->b[i].x))
            return ERR_SET(e, ERR_NUMERIC, "a value is not finite");
    struct fit_frame k;
    plateau_frame(a, blocks, options, &k);
    plateau_fit_all(&k, out->family);
    plateau_conclude(&k, options, true, out);
    return ERR_NONE;
}

double plateau_family_answer(struct arena *a, const struct math_blocks *blocks,
                             const struct plateau_options *options, enum family_id id,
                             double tolerance)
{
    math_quiet();
    struct fit_frame k;
    struct family_fit fit = {.id = id};
    plateau_frame(a, blocks, options, &k);
    plateau_fit_one(&k, id, &fit);
    if (!fit.tried)
        return PL_NAN;
    double ratio = tolerance / k.y_scale / k.inner[id].a;
    return family_of(id)->inverse(ratio, k.theta[id], k.scaled.x0) * k.x_scale;
}
