/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The aim inside the bounds: how it is made, its margin, its rounding, and when there is none. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define NEAR 1e-9 /* of a step: noise of the arithmetic, not a reason to go one step up */

static const struct facts *facts_of(const struct work *w)
{
    return w->premises != NULL ? w->premises->facts : NULL;
}

double window_step(const struct work *w, const struct setting_spec *s, bool *given)
{
    double step =
        s->step_key != NULL ? facts_number(facts_of(w), "press", s->step_key, NAN) : PL_NAN;
    *given = isfinite(step) && step > 0.0;
    return *given ? step : s->step_default;
}

double window_sd(const struct work *w, const struct setting_spec *s)
{
    double sd = s->sd_key != NULL ? facts_number(facts_of(w), "press", s->sd_key, NAN) : PL_NAN;
    return isfinite(sd) && sd >= 0.0 ? sd : PL_NAN;
}

double window_round(double v, double step, enum aim_rounding rounding)
{
    if (!isfinite(v) || !(fabs(v) > 0.0))
        return v;
    if (!isfinite(step))
        step = pow(10.0, floor(log10(fabs(v)) + NEAR) - 2.0);
    double q = v / step;
    q = rounding == ROUND_UP ? ceil(q - NEAR * fabs(q)) : round(q);
    return round_10(q * step);
}

/* ---- margin ---------------------------------------------------------------------------------- */

/* "0.5 s or 5 %, the larger": either part may be missing. NAN: no such criterion. */
static double margin_of_key(const struct work *w, const char *key, double bound)
{
    double absolute = NAN, relative = NAN;
    const struct fact *given = facts_find(facts_of(w), "criteria", key);
    size_t n;
    const struct criterion_spec *specs = window_criteria(&n);
    if (given != NULL) {
        absolute = given->low;
        relative = given->relative;
    } else {
        for (size_t i = 0; i < n; i++)
            if (strcmp(specs[i].name, key) == 0) {
                absolute = specs[i].absolute;
                relative = specs[i].relative;
            }
    }
    return fmax(absolute, relative * bound); /* fmax passes over a part that is NAN */
}

struct margin {
    double value;
    bool from_sd;
};

static struct margin margin_for(const struct work *w, const struct setting_spec *s, double bound)
{
    struct margin m = {s->margin_key != NULL ? margin_of_key(w, s->margin_key, bound) : 0.0, false};
    double sd = window_sd(w, s);
    if (isfinite(sd) && isfinite(m.value) && 3.0 * sd > m.value)
        m = (struct margin){3.0 * sd, true};
    return m;
}

/* ---- sentences ------------------------------------------------------------------------------- */

static const char *rounding_words(struct work *w, const struct setting_spec *s, double exact,
                                  double aim)
{
    bool given;
    double step = window_step(w, s, &given);
    if (fabs(exact - aim) <= NEAR * fabs(aim))
        return "";
    const char *how = s->rounding == ROUND_UP ? "rounded up to" : "rounded to";
    if (!isfinite(step))
        return arena_printf(w->arena, ", %s three digits", how);
    return arena_printf(w->arena, ", %s %s %s step", how, given ? "the press's" : "an assumed",
                        window_words(w, s, step, 0));
}

static void list_assumptions(struct work *w, const struct setting_spec *s)
{
    bool given;
    double step = window_step(w, s, &given);
    if (s->step_key != NULL && !given && isfinite(step))
        window_assume(w, "The press sets times in steps of %s ([press] %s is not given).",
                      window_words(w, s, step, 0), s->step_key);
    if (isfinite(window_sd(w, s)))
        return;
    if (s->sd_key != NULL)
        window_assume(w,
                      "How well the press repeats its %s was not measured ([press] %s is not "
                      "given): its scatter counts as 0.",
                      s->noun, s->sd_key);
    else
        window_assume(w, "How well the press repeats its %s is not known: its scatter counts as 0.",
                      s->noun);
}

/* ---- limits of an aim ------------------------------------------------------------------------ */

bool window_tested_range(const struct finding *f, const char *setting, enum dimension d,
                         double *low, double *high)
{
    *low = INFINITY;
    *high = -INFINITY;
    const struct axis *x = f->n_figures > 0 ? &f->figures[0].x : NULL;
    if (x != NULL && x->setting != NULL && strcmp(x->setting, setting) != 0)
        return false;
    for (size_t i = 0; i < f->n_conditions; i++) {
        const struct condition *c = &f->conditions[i];
        enum dimension of = c->setting_dimension;
        if (of == DIM_TEXT && x != NULL)
            of = x->dimension;
        if (c->left_out != NULL || of != d || !isfinite(c->setting))
            continue;
        *low = fmin(*low, c->setting);
        *high = fmax(*high, c->setting);
    }
    return *low <= *high;
}

static void withdraw(struct window_setting *out, const char *why)
{
    out->aim = NAN;
    out->aim_because = why;
    out->verdict = verdict_worst(out->verdict, VERDICT_NOT_SHOWN);
}

/* What was tested, in terms of this setting: a bound that was made from another setting's stands
 * where that was tested. */
static bool tested(const struct work *w, const struct setting_spec *s, const struct bound *b,
                   double *low, double *high)
{
    const struct derived *d = window_derived_of(w, b);
    const char *setting = d != NULL && d->from != NULL ? d->from->setting : s->setting;
    const struct finding *f = window_finding(w, b->study);
    if (f == NULL || !window_tested_range(f, setting, s->dimension, low, high))
        return false;
    if (d != NULL && d->from != NULL) {
        *low = fmax(0.0, *low - d->shift);
        *high -= d->shift;
    }
    return true;
}

/* Nobody has seen a part from outside the tested range. */
static bool inside_tested(struct work *w, const struct setting_spec *s, struct window_setting *out)
{
    const struct bound *from = out->low != NULL ? out->low : out->high;
    double low, high;
    if (!tested(w, s, from, &low, &high))
        return true;
    double slack = NEAR * fmax(fabs(low), fabs(high));
    if (out->aim > high + slack) {
        withdraw(out, arena_printf(w->arena,
                                   "it would be %s, above the highest %s tested in %s (%s): run "
                                   "shots at %s or more and analyze again",
                                   window_words(w, s, out->aim, 0), s->noun, from->study,
                                   window_words(w, s, high, 0), window_words(w, s, out->aim, 0)));
        return false;
    }
    if (out->aim < low - slack) {
        withdraw(out, arena_printf(w->arena,
                                   "it would be %s, below the lowest %s tested in %s (%s): run "
                                   "shots at %s or less and analyze again",
                                   window_words(w, s, out->aim, 0), s->noun, from->study,
                                   window_words(w, s, low, 0), window_words(w, s, out->aim, 0)));
        return false;
    }
    return true;
}

/* Three times the press's scatter must fit between aim and bounds. */
static void room_for_scatter(struct work *w, const struct setting_spec *s,
                             struct window_setting *out)
{
    double sd = window_sd(w, s);
    if (!(sd > 0.0))
        return;
    double slack = NEAR * fabs(out->aim);
    bool low = isfinite(out->low_value) && out->aim - 3.0 * sd < out->low_value - slack;
    bool high = isfinite(out->high_value) && out->aim + 3.0 * sd > out->high_value + slack;
    if (!low && !high)
        return;
    out->verdict = verdict_worst(out->verdict, VERDICT_NOT_SHOWN);
    out->aim_because = arena_printf(
        w->arena,
        "%s; 3 times the press's measured scatter of %s does not fit between the aim and the %s "
        "bound",
        out->aim_because, window_plain(w, s->dimension, sd),
        low && high ? "lower and upper" : (low ? "lower" : "upper"));
}

/* ---- the kinds of aim ------------------------------------------------------------------------ */

static void aim_above_lower(struct work *w, const struct setting_spec *s,
                            struct window_setting *out)
{
    if (out->low == NULL) {
        withdraw(out, arena_printf(w->arena, "no study gives a lower bound on the %s", s->noun));
        return;
    }
    struct margin m = margin_for(w, s, out->low_value);
    if (!isfinite(m.value)) {
        withdraw(out, arena_printf(w->arena, "no margin is known for the %s", s->noun));
        return;
    }
    bool given;
    double exact = out->low_value + m.value;
    out->margin = round_10(m.value);
    out->aim = window_round(exact, window_step(w, s, &given), s->rounding);
    const char *margin_words = window_words(w, s, m.value, 0);
    out->aim_because = arena_printf(
        w->arena, "bound %s from %s plus %s margin%s%s", window_words(w, s, out->low_value, +1),
        out->low->study, margin_words, m.from_sd ? " (3 times the press's measured scatter)" : "",
        rounding_words(w, s, exact, out->aim));
    if (out->high != NULL && out->aim > out->high_value + NEAR * fabs(out->high_value))
        withdraw(out, arena_printf(w->arena,
                                   "it would be %s (%s), above the upper bound %s from %s: there "
                                   "is no room for the margin",
                                   window_words(w, s, out->aim, 0), out->aim_because,
                                   window_words(w, s, out->high_value, -1), out->high->study));
}

/* To the nearest step that lies inside. */
static double round_inside(double v, double low, double high, double step)
{
    double aim = window_round(v, step, ROUND_NEAREST);
    double slack = NEAR * fmax(fabs(low), fabs(high));
    if (!isfinite(step))
        return aim >= low && aim <= high ? aim : round_10(v);
    if (aim > high + slack)
        aim = round_10(floor(v / step) * step);
    else if (aim < low - slack)
        aim = round_10(ceil(v / step) * step);
    return aim >= low - slack && aim <= high + slack ? aim : PL_NAN;
}

#define AS_GOOD 0.10 /* of the aim: the middle of a window is no sharp optimum; our convention */
#define ONE_POINT 0.05

/* A speed near the middle at which the other studies were run: an aim there needs no repeats, and
 * does not wander with every shot that is added. NAN: there is none. */
static double run_near(const struct work *w, const struct setting_spec *s, double middle,
                       const struct window_setting *out, const char **study)
{
    double best = PL_NAN;
    for (size_t i = 0; strcmp(s->setting, "injection_speed") == 0 && i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        const struct operating_value *o = window_operating(f, s->setting);
        if (f->n_bounds == 0 || o == NULL || strcmp(f->study, s->study) == 0 ||
            (o->from != NULL && strcmp(o->from, "[running]") == 0) ||
            o->high - o->low > ONE_POINT * o->high)
            continue;
        double at = round_10(0.5 * (o->low + o->high));
        bool inside = at >= out->low_value && at <= out->high_value;
        if (!inside || fabs(at - middle) > AS_GOOD * middle ||
            (isfinite(best) && fabs(at - middle) >= fabs(best - middle)))
            continue;
        best = at;
        *study = f->study;
    }
    return best;
}

static void aim_between(struct work *w, const struct setting_spec *s, struct window_setting *out)
{
    if (out->low == NULL || out->high == NULL) {
        withdraw(out, arena_printf(w->arena,
                                   "it needs both bounds, and no study of this trial gives %s %s "
                                   "bound on the %s",
                                   out->low == NULL ? "a" : "an",
                                   out->low == NULL ? "lower" : "upper", s->noun));
        return;
    }
    if (s->aim == AIM_GEOMETRIC_MEAN && !(out->low_value > 0.0)) {
        withdraw(out, "the lower bound is not above zero");
        return;
    }
    double exact = s->aim == AIM_GEOMETRIC_MEAN ? sqrt(out->low_value * out->high_value)
                                                : 0.5 * (out->low_value + out->high_value);
    bool given;
    double step = window_step(w, s, &given);
    out->aim = round_inside(exact, out->low_value, out->high_value, step);
    if (!isfinite(out->aim)) {
        withdraw(out, arena_printf(
                          w->arena, "no step of the press lies between %s and %s: its step is %s",
                          window_words(w, s, out->low_value, +1),
                          window_words(w, s, out->high_value, -1), window_words(w, s, step, 0)));
        return;
    }
    bool same = strcmp(out->low->study, out->high->study) == 0;
    const char *run_by = NULL;
    double run = run_near(w, s, exact, out, &run_by);
    if (isfinite(run)) {
        out->aim_because = arena_printf(
            w->arena, "where %s was run, near the geometric mean %s of the bounds %s and %s",
            run_by, window_words(w, s, exact, 0), window_words(w, s, out->low_value, +1),
            window_words(w, s, out->high_value, -1));
        out->aim = run;
        return;
    }
    out->aim_because = arena_printf(
        w->arena, "%s %s%s%s and %s from %s%s",
        s->aim == AIM_GEOMETRIC_MEAN ? "geometric mean of the bounds" : "centre between the bounds",
        window_words(w, s, out->low_value, +1), same ? "" : " from ", same ? "" : out->low->study,
        window_words(w, s, out->high_value, -1), out->high->study,
        rounding_words(w, s, exact, out->aim));
}

/* The press sets a speed; the fill time is what that speed gives, so that the two aims name one
 * process. False where it cannot be told, or would leave its own bounds. */
static bool aim_by_speed(struct work *w, const struct setting_spec *s, struct window_setting *out)
{
    struct window_response r;
    if (strcmp(s->setting, "fill_time") != 0 || out->low == NULL || out->high == NULL ||
        !window_response(w, "fill time", &r) || r.setting->dimension != DIM_SPEED)
        return false;
    double t = window_round(r.mean.value, PL_NAN, ROUND_NEAREST);
    if (!(t >= out->low_value) || !(t <= out->high_value))
        return false;
    out->aim = t;
    out->aim_because =
        arena_printf(w->arena, "the %s that the aim of the %s, %s, gives in %s", s->noun,
                     r.setting->noun, window_words(w, r.setting, r.aim, 0), r.from->study);
    out->aim_is_result = true;
    return true;
}

void window_aim(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                struct window_setting *out)
{
    (void)b;
    switch (s->aim) {
    case AIM_LOWER_PLUS_MARGIN:
        aim_above_lower(w, s, out);
        break;
    case AIM_GEOMETRIC_MEAN:
    case AIM_CENTRE:
        if (!aim_by_speed(w, s, out))
            aim_between(w, s, out);
        break;
    case AIM_NONE:
        out->aim_because = arena_printf(
            w->arena, "the %s follows from other settings: it is watched, not set", s->noun);
        return;
    }
    if (!isfinite(out->aim) || !inside_tested(w, s, out))
        return;
    list_assumptions(w, s);
    room_for_scatter(w, s, out);
}

/* ---- because --------------------------------------------------------------------------------- */

static const struct bound *undecided(const struct setting_bounds *b)
{
    const struct bound *worst = NULL;
    for (size_t i = 0; i < b->n_lower + b->n_upper; i++) {
        const struct bound *x = i < b->n_lower ? b->lower[i] : b->upper[i - b->n_lower];
        if (x->verdict != VERDICT_MET && (worst == NULL || x->verdict > worst->verdict))
            worst = x;
    }
    return worst;
}

/* As the table of the window shows it; where an aim was computed from it, as it was computed with.
 */
static const char *limit_of(const struct work *w, const struct setting_spec *s,
                            const struct window_setting *out, const struct bound *b, double v)
{
    int toward = b->side == BOUND_LOWER ? +1 : -1;
    if (isfinite(out->aim) && !out->aim_is_result)
        return window_words(w, s, v, toward);
    return setting_limit_text(w->arena, w->premises, s->setting, s->dimension, v, b, toward);
}

static void add_reason(const struct work *w, const struct setting_spec *s,
                       const struct window_setting *out, const struct bound *b, struct text *t)
{
    if (b == NULL || b->because == NULL || *b->because == '\0')
        return;
    text_addf(t, " Why %s: %s%s", limit_of(w, s, out, b, b->value), b->because,
              strchr(".!?", b->because[strlen(b->because) - 1]) != NULL ? "" : ".");
}

void window_explain(const struct work *w, const struct setting_spec *s,
                    const struct setting_bounds *b, struct window_setting *out)
{
    struct text t;
    text_init(&t, w->arena);
    if (isfinite(out->aim)) {
        text_addf(&t, "%s %s: %s.", out->aim_is_result ? "Expect" : "Set",
                  window_words(w, s, out->aim, 0), out->aim_because);
    } else {
        if (out->low != NULL)
            text_addf(&t, "At least %s, from %s.", limit_of(w, s, out, out->low, out->low_value),
                      out->low->study);
        if (out->high != NULL)
            text_addf(&t, "%sAt most %s, from %s.", t.length > 0 ? " " : "",
                      limit_of(w, s, out, out->high, out->high_value), out->high->study);
        if (out->aim_because != NULL && s->aim != AIM_NONE)
            text_addf(&t, "%sNo aim: %s.", t.length > 0 ? " " : "", out->aim_because);
    }
    add_reason(w, s, out, out->low, &t);
    add_reason(w, s, out, out->high, &t);
    const struct bound *open = undecided(b);
    if (open != NULL && open->criterion != NULL)
        text_addf(&t, " %s: see \"%s\" in %s.",
                  open->verdict == VERDICT_NOT_MET ? "The criterion behind it is not met"
                                                   : "Not shown yet",
                  window_criterion_title(w, open), open->study);
    else if (open != NULL)
        text_addf(&t,
                  " Not shown yet: the %s bound from %s has not been confirmed by a run of parts.",
                  open->side == BOUND_LOWER ? "lower" : "upper", open->study);
    out->because = t.s;
}
