/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The window spans temperatures and hold pressures once a study bounds them. A limit then has to
 * hold at the corner where it is hardest to keep, and was found where its study was run. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

#define SAME_SHARE 0.05      /* of hold pressure; our convention */
#define SAME_TEMPERATURE 3.0 /* K */
#define SHOTS 3

enum end { END_LOW, END_HIGH };

/* The settings that make the corner, and whose limits it is hardest on. */
struct corner {
    const char *settings[2];
    enum end end;
    const char *hardest[2];
    const char *criterion; /* only bounds by this one; NULL: all */
};

enum { HOTTEST, COLDEST, MOST_PRESSURE, CORNERS };
static const struct corner corners[CORNERS] = {
    [HOTTEST] = {{"melt_temperature", "mold_temperature"},
                 END_HIGH,
                 {"hold_time", "cooling_time"},
                 NULL},
    [COLDEST] = {{"melt_temperature", "mold_temperature"},
                 END_LOW,
                 {"injection_speed", "fill_time"},
                 "pressure_use_max"},
    [MOST_PRESSURE] = {{"hold_pressure", NULL}, END_HIGH, {"clamp_force", NULL}, NULL},
};

/* The corner's value of one setting; NAN where the window does not span it. */
static double corner_value(const struct work *w, const char *setting, enum end end)
{
    const struct window_setting *s = setting != NULL ? window_setting_of(w, setting) : NULL;
    if (s == NULL)
        return PL_NAN;
    return end == END_HIGH ? s->high_value : s->low_value;
}

/* "corner 205 degC melt temperature, 60 degC mold temperature"; NULL: no corner. */
static const char *corner_name(const struct work *w, const struct corner *c)
{
    struct text t;
    text_init(&t, w->arena);
    for (size_t i = 0; i < PL_COUNT(c->settings); i++) {
        double v = corner_value(w, c->settings[i], c->end);
        if (!isfinite(v))
            continue;
        const struct setting_spec *spec = window_spec(c->settings[i]);
        text_addf(&t, "%s %s %s", t.length > 0 ? "," : "corner", window_words(w, spec, v, 0),
                  spec->noun);
    }
    return t.length > 0 ? t.s : NULL;
}

static bool was_run_at(const struct work *w, const struct finding *f, const struct corner *c)
{
    for (size_t i = 0; f != NULL && i < PL_COUNT(c->settings); i++) {
        double v = corner_value(w, c->settings[i], c->end);
        if (!isfinite(v))
            continue;
        const struct operating_value *o = window_operating(f, c->settings[i]);
        double slack = window_spec(c->settings[i])->dimension == DIM_TEMPERATURE ? SAME_TEMPERATURE
                                                                                 : SAME_SHARE * v;
        if (o == NULL || v < o->low - slack || v > o->high + slack)
            return false;
    }
    return f != NULL;
}

/* "where it was run": the settings of the corner as the study had them. */
static const char *where_run(const struct work *w, const struct finding *f, const struct corner *c)
{
    struct text t;
    text_init(&t, w->arena);
    for (size_t i = 0; i < PL_COUNT(c->settings); i++) {
        if (!isfinite(corner_value(w, c->settings[i], c->end)))
            continue;
        const struct setting_spec *spec = window_spec(c->settings[i]);
        const struct operating_value *o = window_operating(f, c->settings[i]);
        text_addf(&t, "%s", t.length > 0 ? ", " : "");
        if (o == NULL)
            text_addf(&t, "%s not recorded", spec->noun);
        else if (o->high > o->low)
            text_addf(&t, "%s %s to %s", spec->noun, window_words(w, spec, o->low, 0),
                      window_words(w, spec, o->high, 0));
        else
            text_addf(&t, "%s %s", spec->noun, window_words(w, spec, o->low, 0));
    }
    return t.s;
}

static void ask(struct work *w, const struct setting_spec *spec, const struct window_setting *s,
                const struct bound *b, const char *corner)
{
    struct next_shot *n = window_next_shot(w);
    n->setting = spec->setting;
    n->dimension = spec->dimension;
    n->at = isfinite(s->aim) ? s->aim : b->value;
    n->shots = SHOTS;
    n->series = corner;
    n->promise = arena_printf(w->arena,
                              "shows whether the limit from %s holds where it is hardest "
                              "to keep",
                              b->study);
    n->why = arena_printf(w->arena, "the %s bound on the %s was not found at this corner",
                          b->side == BOUND_LOWER ? "lower" : "upper", spec->noun);
}

static void untested(struct work *w, struct window_setting *s, const struct bound *b,
                     const struct corner *c)
{
    const struct setting_spec *spec = window_spec(s->setting);
    const struct finding *f = window_finding(w, b->study);
    const char *corner = corner_name(w, c);
    window_flag(w, "worst-corner-untested",
                "the limit on the %s comes from %s, run at %s; it is hardest to keep at %s: run "
                "the study's shots near its limit there",
                spec->noun, b->study, f != NULL ? where_run(w, f, c) : "a point that is not known",
                corner);
    ask(w, spec, s, b, corner);
    if (s->verdict == VERDICT_MET || s->verdict == VERDICT_NONE)
        s->because = arena_printf(w->arena, "%s Not shown yet at %s.", s->because, corner);
    s->verdict = verdict_worst(s->verdict, VERDICT_NOT_SHOWN);
    s->by_convention = false;
}

static const struct bound *first_untested(const struct work *w, const struct window_setting *s,
                                          const struct corner *c)
{
    for (size_t i = 0; i < 2 + s->n_runners_up; i++) {
        const struct bound *b = i == 0 ? s->low : i == 1 ? s->high : s->runners_up[i - 2];
        if (b == NULL || (c->criterion != NULL &&
                          (b->criterion == NULL || strcmp(b->criterion, c->criterion) != 0)))
            continue;
        if (!was_run_at(w, window_finding(w, b->study), c))
            return b;
    }
    return NULL;
}

void window_check_corners(struct work *w)
{
    for (size_t k = 0; k < CORNERS; k++) {
        const struct corner *c = &corners[k];
        if (corner_name(w, c) == NULL)
            continue;
        for (size_t i = 0; i < PL_COUNT(c->hardest) && c->hardest[i] != NULL; i++) {
            struct window_setting *s = window_setting_of(w, c->hardest[i]);
            const struct bound *b = s != NULL ? first_untested(w, s, c) : NULL;
            if (b != NULL)
                untested(w, s, b, c);
        }
    }
}

const char *window_cold_corner(const struct work *w, const struct finding *f)
{
    const char *name = corner_name(w, &corners[COLDEST]);
    return name == NULL || was_run_at(w, f, &corners[COLDEST]) ? NULL : name;
}
