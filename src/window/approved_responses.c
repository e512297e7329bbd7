/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the new lot shows at the approved settings against what the approved record expects there,
 * and in one sentence whether the approved window holds. */
#include <math.h>
#include <string.h>

#include "plateau/math.h"
#include "window_internal.h"

#define SAME 1e-6
#define LEAD "approved_" /* of the names of what is compared */

struct compared {
    const char *name, *series; /* of the response; of a study's conditions */
    const char *study, *setting;
    const char *noun;
    const char *above, *below; /* what it means beyond the alarm limits */
};

static const struct compared all[] = {
    {"fill_time", "fill time", "viscosity", "injection_speed", "fill time",
     "filling takes longer than in the approved trial: look at the speed, the stroke and the "
     "transfer position before the pressures are compared",
     "filling takes less time than in the approved trial: look at the speed, the stroke and the "
     "transfer position before the pressures are compared"},
    {"transfer_pressure", "transfer pressure", "viscosity", "injection_speed",
     "pressure at transfer", "the melt is stiffer than in the approved trial",
     "the melt is thinner than in the approved trial"},
    {"peak_pressure", "peak pressure", "viscosity", "injection_speed", "peak pressure",
     "filling takes more pressure than in the approved trial",
     "filling takes less pressure than in the approved trial"},
    {"part_weight", "parts", "gate-freeze", "hold_time", "part weight",
     "the parts are heavier than in the approved trial",
     "the parts are lighter than in the approved trial"},
    {"cushion", "cushion", "gate-freeze", "hold_time", "cushion",
     "less melt goes into the mold than in the approved trial, or the stroke differs",
     "more melt goes into the mold than in the approved trial, or it leaks past the screw's valve"},
};

/* ---- what was measured ------------------------------------------------------------------------
 */

/* Mean of the shots at the approved setting, with the scatter of the whole series; where it counts,
 * as a share of the reading. */
struct measured {
    double n, mean, low, high;
};

/* Where cavities freeze apart, "parts" are those that freeze together. */
static const char *series_of(const struct finding *f, const struct compared *r)
{
    for (size_t i = 0; i < f->n_conditions; i++)
        if (strcmp(r->series, "parts") == 0 && window_counts(&f->conditions[i], "all parts"))
            return "all parts";
    return r->series;
}

static struct measured measure(const struct work *w, const struct finding *f,
                               const struct compared *r, double at)
{
    const char *series = series_of(f, r);
    struct measured m = {0.0, 0.0, PL_NAN, PL_NAN};
    double ss = 0.0, dof = 0.0, step = window_reading_step(f, r->name);
    bool relative = strstr(r->name, "pressure") != NULL || strcmp(r->name, "fill_time") == 0;
    for (size_t i = 0; i < f->n_conditions; i++) {
        const struct condition *c = &f->conditions[i];
        if (!window_counts(c, series))
            continue;
        if (c->n > 1 && isfinite(c->sd)) {
            double sd = relative ? c->sd / c->mean : c->sd;
            ss += (double)(c->n - 1) * sd * sd;
            dof += (double)(c->n - 1);
        }
        if (fabs(c->setting - at) > SAME * fabs(at))
            continue;
        m.n += (double)c->n;
        m.mean += (c->mean - m.mean) * (double)c->n / m.n;
    }
    if (!(m.n > 0.0) || !(dof > 0.0))
        return m;
    double sd = sqrt(ss / dof) * (relative ? m.mean : 1.0);
    double half = math_t_quantile(0.5 + 0.5 * window_confidence(w), dof) *
                  sqrt((sd * sd + step * step / 12.0) / m.n);
    m.low = m.mean - half;
    m.high = m.mean + half;
    return m;
}

/* ---- against what was expected ----------------------------------------------------------------
 */

/* The range the mean has to lie in: the alarm limits, else the interval. */
static bool allowed(const struct work *w, const char *name, double *low, double *high, bool *alarm)
{
    static const char *const parts[] = {"alarm", "interval"};
    for (size_t i = 0; i < PL_COUNT(parts); i++) {
        const struct fact *f = facts_find(w->premises->facts, "approved",
                                          arena_printf(w->arena, "%s.%s", name, parts[i]));
        if (f == NULL || !(f->high > f->low))
            continue;
        *low = f->low;
        *high = f->high;
        *alarm = i == 0;
        return true;
    }
    return false;
}

static enum verdict verdict_of(const struct measured *m, double low, double high)
{
    if (!isfinite(m->low))
        return VERDICT_NOT_SHOWN;
    if (m->low >= low && m->high <= high)
        return VERDICT_MET;
    return m->low > high || m->high < low ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
}

static const char *not_measured(struct work *w, const struct compared *r, const char *where,
                                const struct measured *m)
{
    if (!(m->n > 0.0))
        return arena_printf(w->arena, "no shots of the new lot were run at %s", where);
    return arena_printf(w->arena,
                        "no setting of this trial has two shots with a %s, so its scatter is not "
                        "known",
                        r->noun);
}

/* "713 to 741 bar"; `outward` 1: the ends are rounded away from each other. */
static const char *pair(const struct work *w, enum dimension d, double low, const char *between,
                        double high, int digits, int outward)
{
    struct text t;
    text_init(&t, w->arena);
    text_add_fixed(&t, round_toward(value_shown(w->premises, d, low), digits, -outward), digits);
    text_addf(&t, "%s%s", between, value_fixed(w->arena, w->premises, d, high, digits, outward));
    return t.s;
}

static const char *sentence(struct work *w, const struct compared *r, const char *where,
                            const struct measured *m, const struct criterion *c, double expected,
                            double low, double high, bool alarm)
{
    if (!isfinite(m->low))
        return not_measured(w, r, where, m);
    const struct premises *p = w->premises;
    int digits = value_interval_decimals(p, c->dimension, expected, low, high);
    struct text t;
    text_init(&t, w->arena);
    text_addf(&t, "at %s the %s was %s (%s); expected %s, %s below %s", where, r->noun,
              value_fixed(w->arena, p, c->dimension, m->mean, digits, 0),
              pair(w, c->dimension, m->low, " to ", m->high, digits, 1),
              value_fixed(w->arena, p, c->dimension, expected, digits, 0),
              alarm ? "alarm" : "interval",
              pair(w, c->dimension, low, " or above ", high, digits, 0));
    if (c->verdict == VERDICT_NOT_MET)
        text_addf(&t, ": %s", m->low > high ? r->above : r->below);
    if (c->verdict == VERDICT_NOT_SHOWN)
        text_add(&t, ": these shots cannot tell; run more at this setting");
    return t.s;
}

static void compare(struct work *w, const struct compared *r)
{
    const struct finding *f = window_finding(w, r->study);
    double at = window_approved_number(w, r->setting, "aim");
    double expected = window_approved_number(w, r->name, "expected"), low, high;
    bool alarm;
    if (f == NULL || !isfinite(at) || !isfinite(expected) ||
        !allowed(w, r->name, &low, &high, &alarm))
        return;
    struct measured m = measure(w, f, r, at);
    const struct setting_spec *s = window_spec(r->setting);
    const char *where = arena_printf(w->arena, "%s", window_words(w, s, at, 0));
    const struct fact *fact =
        facts_find(w->premises->facts, "approved", arena_printf(w->arena, "%s.expected", r->name));
    struct criterion *c = window_check(w, arena_printf(w->arena, LEAD "%s", r->name));
    c->title = arena_printf(w->arena, "%s of the new lot", r->noun);
    c->dimension = fact->dimension;
    c->origin = 'O';
    c->limit_wording = alarm ? "the approved alarm limits" : "the approved interval";
    c->limit = expected;
    c->value = round_10(m.n > 0.0 ? m.mean : PL_NAN);
    c->low = round_10(m.low);
    c->high = round_10(m.high);
    c->level = window_confidence(w);
    c->sides = 2;
    c->verdict = verdict_of(&m, low, high);
    c->because = sentence(w, r, where, &m, c, expected, low, high, alarm);
}

/* ---- in one sentence --------------------------------------------------------------------------
 */

static void add_name(struct text *t, const char *name)
{
    text_addf(t, "%s%s", t->length > 0 ? ", " : "", name);
}

static const struct criterion *compared_of(const struct work *w, const char *name)
{
    for (size_t i = 0; i < w->window->n_checks; i++) {
        const struct criterion *c = &w->window->checks[i];
        if (strncmp(c->name, LEAD, sizeof LEAD - 1) == 0 &&
            strcmp(c->name + sizeof LEAD - 1, name) == 0)
            return c;
    }
    return NULL;
}

/* Names of settings and responses by what this trial shows of them. The fill time is both. */
static void sort_out(struct work *w, struct text by[VERDICT_NOT_MET + 1])
{
    for (int v = VERDICT_NONE; v <= VERDICT_NOT_MET; v++)
        text_init(&by[v], w->arena);
    for (size_t i = 0; i < w->n_approved; i++)
        if (compared_of(w, w->approved[i].setting) == NULL)
            add_name(&by[w->approved[i].here], window_spec(w->approved[i].setting)->noun);
    for (size_t k = 0; k < PL_COUNT(all); k++) {
        const struct criterion *c = compared_of(w, all[k].name);
        if (c != NULL)
            add_name(&by[c->verdict], all[k].noun);
    }
}

void window_check_approved(struct work *w)
{
    if (window_approved_record(w) == NULL)
        return;
    window_check(w, "approved_window");
    size_t at = w->window->n_checks - 1;
    for (size_t i = 0; i < PL_COUNT(all); i++)
        compare(w, &all[i]);
    struct text by[VERDICT_NOT_MET + 1], t;
    sort_out(w, by);
    enum verdict v = by[VERDICT_NOT_MET].length > 0     ? VERDICT_NOT_MET
                     : by[VERDICT_NOT_SHOWN].length > 0 ? VERDICT_NOT_SHOWN
                     : by[VERDICT_MET].length > 0       ? VERDICT_MET
                                                        : VERDICT_NOT_SHOWN;
    text_init(&t, w->arena);
    if (v == VERDICT_NOT_MET)
        text_addf(&t, "The approved window does not hold for this lot: %s", by[VERDICT_NOT_MET].s);
    else if (v == VERDICT_MET)
        text_addf(&t, "the approved window holds for this lot in what this short trial tried: %s",
                  by[VERDICT_MET].s);
    else
        text_addf(&t, "it is not shown that the approved window holds for this lot: %s",
                  by[VERDICT_NOT_SHOWN].length > 0 ? by[VERDICT_NOT_SHOWN].s
                                                   : "no shots of it were made");
    if (v == VERDICT_NOT_MET && by[VERDICT_NOT_SHOWN].length > 0)
        text_addf(&t, "; not shown: %s", by[VERDICT_NOT_SHOWN].s);
    if (by[VERDICT_NONE].length > 0)
        text_addf(&t, "; not tried: %s", by[VERDICT_NONE].s);
    struct criterion *c = &w->window->checks[at]; /* the list may have moved */
    c->title = "the approved window and the new lot";
    c->limit_wording = arena_printf(w->arena, "what %s says", window_approved_record(w));
    c->origin = 'O';
    c->verdict = v;
    c->because = window_sentence(w, t.s);
}

/* ---- what to expect ---------------------------------------------------------------------------
 */

static void ends(const struct work *w, const char *name, const char *part, double *low,
                 double *high)
{
    const struct fact *f =
        facts_find(w->premises->facts, "approved", arena_printf(w->arena, "%s.%s", name, part));
    *low = f != NULL ? f->low : PL_NAN;
    *high = f != NULL ? f->high : PL_NAN;
}

bool window_approved_expect(struct work *w)
{
    static const char *const names[][2] = {{"fill_time", "Fill time"},
                                           {"transfer_pressure", "Pressure at transfer"},
                                           {"peak_pressure", "Peak pressure"},
                                           {"part_weight", "Part weight"},
                                           {"cushion", "Cushion"},
                                           {"closed_time", "Closed time"}};
    if (window_approved_record(w) == NULL)
        return false;
    for (size_t i = 0; i < PL_COUNT(names); i++) {
        const char *name = names[i][0];
        double v = window_approved_number(w, name, "expected");
        if (!isfinite(v))
            continue;
        struct expected_response *r =
            ARENA_PUSH(w->arena, w->window->expected, w->window->n_expected, w->cap_expected);
        const struct fact *f =
            facts_find(w->premises->facts, "approved", arena_printf(w->arena, "%s.expected", name));
        *r = (struct expected_response){
            .name = name, .title = names[i][1], .dimension = f->dimension, .value = v};
        ends(w, name, "interval", &r->low, &r->high);
        ends(w, name, "alarm", &r->alarm_low, &r->alarm_high);
        const char *from = window_approved_text(w, name, "expected_from");
        r->because =
            from != NULL ? arena_printf(w->arena, WINDOW_BY_RECORD ": %s", from) : WINDOW_BY_RECORD;
    }
    return true;
}
