/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences and next shots, in the units people entered. */
#include <math.h>

#include "viscosity.h"

#define SHOTS 3
#define FASTER 1.25 /* next setting beyond the fastest tested */
#define WIDE 10.0   /* ratio of slowest to fastest fill that a study should span */

const char *viscosity_time(const struct viscosity *v, double t, double half_width)
{
    return value_text(v->a, v->trial->display, DIM_TIME, t, half_width);
}

const char *viscosity_span(const struct viscosity *v, const struct visc_value *x)
{
    return interval_text(v->a, v->trial->display, DIM_TIME, x->low, x->high);
}

const char *viscosity_pressure(const struct viscosity *v, double p)
{
    return value_text(v->a, v->trial->display, DIM_PRESSURE, p, fabs(p) / 50.0);
}

const char *viscosity_percent(const struct viscosity *v, double ratio)
{
    struct text t;
    text_init(&t, v->a);
    double percent = 100.0 * ratio;
    text_add_fixed(&t, percent, fabs(percent - round(percent)) < 1e-9 ? 0 : 1);
    text_add(&t, " %");
    return t.s;
}

const char *viscosity_setting(const struct viscosity *v, const struct viscosity_block *b)
{
    if (v->data.by_speed)
        return value_text(v->a, v->trial->display, DIM_SPEED, b->speed, PL_NAN);
    return viscosity_time(v, b->time, PL_NAN);
}

static const char *confidence(const struct viscosity *v)
{
    return viscosity_percent(v, v->options.confidence);
}

/* "Filling 10 % faster lowers viscosity by 6.5 %." */
static const char *drop_sentence(const struct viscosity *v)
{
    double drop = 1.0 - pow(1.1, v->r.line.slope - 1.0);
    const char *n = number_text(v->a, v->r.line.slope, 3);
    if (drop > 0.0)
        return arena_printf(v->a,
                            "Filling 10 %% faster lowers viscosity by %s (power-law index n = %s).",
                            viscosity_percent(v, drop), n);
    return arena_printf(v->a, "Filling faster does not lower viscosity (power-law index n = %s).",
                        n);
}

/* A bound, never shown on its wrong side. */
static const char *bound_text(const struct viscosity *v, double fill_time, int toward)
{
    return value_text_toward(v->a, v->trial->display, DIM_TIME, fill_time, PL_NAN, toward);
}

static const char *knee_sentence(const struct viscosity *v)
{
    const struct visc_answer *r = &v->r;
    const char *slower = viscosity_percent(v, v->options.disturbance);
    const char *most = viscosity_percent(v, v->options.tolerance);
    switch (r->state) {
    case VISC_KNEE_FOUND:
        if (!r->safe)
            break;
        return arena_printf(
            v->a,
            "Fill in at most %s: there a fill %s slower changes the in-mold relative "
            "viscosity (pressure x fill time) by at most %s of its fall in the trial "
            "(%s interval %s).",
            bound_text(v, r->sensitivity.low, -1), slower, most, confidence(v),
            viscosity_span(v, &r->sensitivity));
    case VISC_KNEE_BELOW_RANGE:
        return arena_printf(
            v->a,
            "At every tested fill time a fill %s slower changes the in-mold relative "
            "viscosity (pressure x fill time) by at most %s of its fall in the trial: "
            "viscosity sets no slowest fill here.",
            slower, most);
    case VISC_KNEE_NOT_REACHED:
        break;
    }
    return arena_printf(
        v->a,
        "No slowest fill time can be given: even at %s, the fastest fill that tells of "
        "the melt, a fill %s slower changes the in-mold relative viscosity (pressure x "
        "fill time) by %s of its fall in the trial, and %s is the limit.",
        viscosity_time(v, r->fastest, PL_NAN), slower,
        viscosity_percent(v, r->effect_at_fastest.high), most);
}

static const char *range_sentence(const struct viscosity *v)
{
    const struct visc_answer *r = &v->r;
    if (r->state != VISC_KNEE_FOUND || !r->follows_range)
        return "";
    if (r->power_in_play)
        return " A plain power law describes the data; its knee follows the tested range, as it "
               "does "
               "for most melts, so this is a convention and not a property of the melt.";
    return " Without the slowest or the fastest setting this point moves by more than 25 %: it "
           "follows "
           "the tested range, so it is a convention and not a property of the melt.";
}

/* The strictest limit on the fast side. */
static const char *fast_sentence(const struct viscosity *v)
{
    const struct bound *b = NULL;
    for (size_t i = 0; i < v->f->n_bounds; i++)
        if (v->f->bounds[i].dimension == DIM_TIME && v->f->bounds[i].side == BOUND_LOWER &&
            (b == NULL || v->f->bounds[i].value > b->value))
            b = &v->f->bounds[i];
    if (b == NULL)
        return " No limit on fast filling was met in the trial, and none is known from the press, "
               "the "
               "gate or the material.";
    return arena_printf(v->a, " Do not fill in less than %s: %s.", bound_text(v, b->value, +1),
                        b->because);
}

static bool one_setting(const struct viscosity *v)
{
    for (size_t i = 1; i < v->data.n_blocks; i++) {
        const struct viscosity_block *a = &v->data.block[0], *b = &v->data.block[i];
        if (v->data.by_speed ? a->speed != b->speed : fabs(a->time - b->time) > 0.01 * a->time)
            return false;
    }
    return true;
}

const char *viscosity_too_few(const struct viscosity *v)
{
    if (v->data.n_blocks == 0)
        return arena_printf(v->a, "%s. Run the shots and enter them",
                            study_no_rows(v->f, "no row has both a fill time and a pressure"));
    if (one_setting(v))
        return v->data.by_speed ? "only one injection speed was run: run seven or more"
                                : "only one fill time was run: run seven or more";
    return "fewer than two fill times are free of pressure and speed limits: fill more slowly, or "
           "raise the limit if the mold and the press allow it";
}

void viscosity_decision(struct viscosity *v)
{
    if (v->is_short) {
        v->f->decision = arena_printf(
            v->a,
            "A short trial at %zu setting%s: the pressures and fill times are held against the "
            "approved record, and the limits on filling stay the approved ones.%s%s",
            v->n_settings, v->n_settings == 1 ? "" : "s", v->solved ? " " : "",
            v->solved ? drop_sentence(v) : "");
        return;
    }
    if (!v->solved) {
        v->f->decision =
            arena_printf(v->a, "Nothing can be said about the melt: %s.", viscosity_too_few(v));
        return;
    }
    if (v->no_rise) {
        v->f->decision = arena_printf(
            v->a,
            "No slowest fill time can be given: the pressure at transfer is not shown to rise with "
            "speed (power-law index n = %s), so it tells of a limit and not of the melt.%s",
            number_text(v->a, v->r.line.slope, 2), fast_sentence(v));
        return;
    }
    v->f->decision = arena_printf(v->a, "%s%s%s %s", knee_sentence(v), range_sentence(v),
                                  fast_sentence(v), drop_sentence(v));
}

/* ---- next shots
 * ------------------------------------------------------------------------------------- */

static void add_shot(struct viscosity *v, double speed, double time, const char *promise,
                     const char *why, int shots)
{
    double fastest = facts_number(&v->trial->facts, "press", "max_injection_speed", PL_INF);
    double at = v->data.by_speed ? speed : time;
    if (!isfinite(at) || !(at > 0.0) || (v->data.by_speed && at > fastest))
        return;
    struct next_shot *s = finding_next_shot(v->f);
    s->setting = v->data.by_speed ? "injection_speed" : "fill_time";
    s->dimension = v->data.by_speed ? DIM_SPEED : DIM_TIME;
    s->at = at;
    s->shots = shots;
    s->promise = promise;
    s->why = why;
}

static const struct viscosity_block *extreme(const struct viscosity *v, bool fast)
{
    const struct viscosity_block *best = NULL;
    for (size_t i = 0; i < v->n_free; i++) {
        const struct viscosity_block *b = &v->data.block[v->free[i]];
        if (best == NULL || (fast ? b->time < best->time : b->time > best->time))
            best = b;
    }
    return best;
}

/* Beyond a condition with a limit or a defect nobody should go. */
static bool may_go_faster(const struct viscosity *v, const struct viscosity_block *fastest)
{
    if (fastest->defect != NULL)
        return false;
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        const struct viscosity_block *b = &v->data.block[i];
        bool beyond = v->data.by_speed ? b->speed > fastest->speed : b->time < fastest->time;
        if (b->doubt.what != VISC_FREE || (beyond && b->defect != NULL))
            return false;
    }
    return true;
}

static void split_edge(struct viscosity *v)
{
    const size_t *order = viscosity_order(v);
    for (size_t i = 1; i < v->data.n_blocks && v->data.by_speed; i++) {
        const struct viscosity_block *good = &v->data.block[order[i - 1]];
        const struct viscosity_block *bad = &v->data.block[order[i]];
        if (good->defect != NULL || good->doubt.what != VISC_FREE || bad->defect == NULL ||
            !(bad->speed > good->speed))
            continue;
        add_shot(
            v, 0.5 * (good->speed + bad->speed), PL_NAN,
            arena_printf(v->a, "halves the gap between %s, which is good, and %s, which is not",
                         viscosity_setting(v, good), viscosity_setting(v, bad)),
            arena_printf(v->a,
                         "the fastest good fill is only known to lie between the two. Caution: "
                         "%s shows \"%s\"; go up to this setting in small steps, look at every "
                         "part, and stop when it shows",
                         viscosity_setting(v, bad), bad->defect),
            SHOTS);
        return;
    }
}

/* Next to a defect only a run of good parts shows that it is gone. */
static void runs_at_edges(struct viscosity *v)
{
    size_t need = study_success_run(v->good_share, v->options.confidence);
    for (int fast = 1; fast >= 0; fast--) {
        const struct viscosity_edge *e = &v->edge[fast];
        if (e->good == NULL || e->verdict == VERDICT_MET || e->shots >= need)
            continue;
        add_shot(v, e->good->speed, e->good->time,
                 arena_printf(v->a, "if all are good, at least %s are shown to be",
                              viscosity_percent(v, v->good_share)),
                 arena_printf(
                     v->a, "%s shows \"%s\"; only a run of good parts shows that it is gone here",
                     viscosity_setting(v, e->bad), e->bad->defect),
                 (int)fmin((double)(need - e->shots), 1e6));
    }
}

/* One speed tells nothing of how the melt answers to speed. */
static void around_one(struct viscosity *v)
{
    static const double times[] = {0.25, 0.5, 2.0};
    if (v->data.n_blocks == 0 || !one_setting(v))
        return;
    const struct viscosity_block *b = &v->data.block[0];
    double step = facts_number(&v->trial->facts, "press", "speed_step", PL_NAN);
    for (size_t i = 0; i < PL_COUNT(times); i++) {
        if (times[i] > 1.0 && (b->defect != NULL || b->doubt.what != VISC_FREE))
            continue;
        double speed = times[i] * b->speed;
        if (step > 0.0 && speed > step)
            speed = round(speed / step) * step;
        add_shot(v, speed, b->time / times[i], NULL,
                 times[i] > 1.0 ? "only one speed was run; go faster in steps, look at every part, "
                                  "and stop at the first flash or burn"
                                : "only one speed was run",
                 SHOTS);
    }
}

void viscosity_next_shots(struct viscosity *v)
{
    split_edge(v);
    if (v->is_short)
        return;
    runs_at_edges(v);
    if (!v->solved) {
        around_one(v);
        return;
    }
    const struct viscosity_block *fast = extreme(v, true), *slow = extreme(v, false);
    if (v->verdict != VERDICT_MET && may_go_faster(v, fast))
        add_shot(v, FASTER * fast->speed, fast->time / FASTER,
                 arena_printf(v->a, "carries the tested range from %s to about %s",
                              viscosity_time(v, fast->time, PL_NAN),
                              viscosity_time(v, fast->time / FASTER, PL_NAN)),
                 "the effect of a slower fill is not yet small at the fastest tested fill", SHOTS);
    if (slow->defect == NULL && slow->time / fast->time < WIDE)
        add_shot(v, slow->speed * slow->time / (WIDE * fast->time), fast->time * WIDE,
                 "spans a factor of ten in fill time",
                 "over a narrow range the curve's shape cannot be told", SHOTS);
}
