/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences, in the units people entered. */
#include <math.h>
#include <string.h>

#include "cooling.h"

#define MOST_DECIMALS 6

const char *cooling_axis(const struct cooling *c)
{
    return c->hold_from != NULL ? "closed time" : "cooling time";
}

const char *cooling_setting_name(const struct cooling *c)
{
    return c->hold_from != NULL ? "closed_time" : "cooling_time";
}

const char *cooling_time(const struct cooling *c, double v, double half_width)
{
    return value_text(c->a, c->trial->display, DIM_TIME, v, half_width);
}

const char *cooling_span(const struct cooling *c, double low, double high)
{
    return interval_text(c->a, c->trial->display, DIM_TIME, low, high);
}

const char *cooling_amount(const struct cooling *c, const struct cooling_measure *m, double v,
                           double half_width)
{
    return value_text(c->a, c->trial->display, m->dimension, v, half_width);
}

/* The half width that makes value_text show a limit as it was typed; converted ones in
 * MOST_DECIMALS. */
static double precision_of(const struct cooling *c, const struct cooling_measure *m, double v)
{
    const struct display_unit *u = &c->trial->display[m->dimension];
    double factor = u->name != NULL ? u->factor : 1.0, offset = u->name != NULL ? u->offset : 0.0;
    double shown = (v - offset) / factor;
    for (int k = 0; k <= MOST_DECIMALS; k++) {
        double scale = pow(10.0, k);
        if (fabs(shown * scale - round(shown * scale)) < 1e-7 * fmax(1.0, fabs(shown * scale)))
            return factor * 10.0 / scale; /* value_text shows two digits of it */
    }
    return factor * pow(10.0, 1 - MOST_DECIMALS);
}

const char *cooling_limit_text(const struct cooling *c, const struct cooling_measure *m, double v)
{
    return cooling_amount(c, m, v, precision_of(c, m, v));
}

const char *cooling_limits(const struct cooling *c, const struct cooling_measure *m)
{
    const char *low = cooling_limit_text(c, m, m->low);
    const char *high = cooling_limit_text(c, m, m->high);
    if (!isfinite(m->low))
        return arena_printf(c->a, "at most %s", high);
    if (!isfinite(m->high))
        return arena_printf(c->a, "at least %s", low);
    return arena_printf(c->a, "%s to %s", low, high);
}

const char *cooling_confidence(const struct cooling *c)
{
    return arena_printf(c->a, "%s %%", number_text(c->a, c->confidence * 100.0, 2));
}

/* "99.73 %", never rounded up to 100 %. */
const char *cooling_share_text(const struct cooling *c, double share)
{
    double percent = floor(share * 1e4 + 1e-6) / 100.0;
    return arena_printf(c->a, "%s %%", value_text(c->a, NULL, DIM_COUNT, percent, PL_NAN));
}

/* ---- what each criterion says ------------------------------------------------------------------
 */

const char *cooling_because(const struct cooling *c, const struct cooling_limit *l)
{
    const struct cooling_measure *m = l->m;
    if (strcmp(l->criterion, "ejection_defects") == 0)
        return arena_printf(c->a,
                            "from here on no tested shot had a defect; the last was seen at "
                            "%s",
                            cooling_time(c, c->defects.last_bad, PL_NAN));
    if (strcmp(l->criterion, "ejection_temperature") == 0)
        return arena_printf(c->a, "from here on the part is below %s",
                            cooling_limit_text(c, m, m->high));
    if (strcmp(l->criterion, "cooling_yield") == 0)
        return arena_printf(
            c->a,
            m->yield.at[m->yield.reference].verdict == VERDICT_MET
                ? "from here on every tested time shows %s of the parts inside the limits of %s"
                : "no tested time from here on is shown to have less than %s of the parts inside "
                  "the limits of %s",
            cooling_share_text(c, c->yield), m->words);
    return arena_printf(c->a, "from here on %s stays within %s of its end value", m->words,
                        cooling_amount(c, m, m->r.tolerance, PL_NAN));
}

/* "95 % interval 11.2 to 13.1 s", or as much of it as is known. */
static const char *interval_of(const struct cooling *c, const struct cooling_limit *l)
{
    if (!isfinite(l->low))
        return "the shortest time tested";
    if (isnan(l->value))
        return arena_printf(c->a, "between %s", cooling_span(c, l->low, l->high));
    return arena_printf(c->a, "%s interval %s", cooling_confidence(c),
                        cooling_span(c, l->low, l->high));
}

/* What decides, in the sentence of the decision. */
static const char *why_it_decides(const struct cooling *c)
{
    const struct cooling_limit *l = c->decides;
    const struct cooling_measure *m = l->m;
    const char *interval = interval_of(c, l);
    if (strcmp(l->criterion, "ejection_defects") == 0)
        return arena_printf(c->a,
                            "from there on no tested shot had a defect, and the last was "
                            "seen at %s",
                            cooling_time(c, l->low, PL_NAN));
    if (strcmp(l->criterion, "ejection_temperature") == 0)
        return arena_printf(c->a,
                            "from there on the part is below %s, its ejection temperature "
                            "(%s)",
                            cooling_limit_text(c, m, m->high), interval);
    if (strcmp(l->criterion, "cooling_yield") == 0)
        return arena_printf(
            c->a,
            m->yield.at[m->yield.reference].verdict == VERDICT_MET
                ? "from there on %s of the parts are shown to be inside the limits of %s (%s)"
                : "from there on it is open whether %s of the parts are inside the limits of %s, "
                  "at shorter times they are not (%s)",
            cooling_share_text(c, c->yield), m->words, interval);
    return arena_printf(c->a, "from there on %s stays within %s of its end value (%s)", m->words,
                        cooling_amount(c, m, m->r.tolerance, PL_NAN), interval);
}

/* What that leaves for the cooling timer, hold and fill as run at the setting next to it. */
static const char *cooling_at(const struct cooling *c)
{
    const struct cooling_setting *s = NULL;
    for (size_t i = 0; i < c->n_settings; i++)
        if (s == NULL || fabs(c->setting[i].x - c->high) < fabs(s->x - c->high))
            s = &c->setting[i];
    if (s == NULL)
        return "";
    double fill = c->fill_from != NULL ? s->fill : 0.0;
    double cooling = c->high - s->hold - fill;
    if (!(cooling >= 0.0))
        return "";
    const char *hold = cooling_time(c, s->hold, PL_NAN);
    double step = c->time_step;
    if (c->fill_from == NULL)
        return arena_printf(c->a, " With the hold time of %s as run that is %s of cooling time.",
                            hold, cooling_time(c, cooling, step));
    return arena_printf(c->a,
                        " With the fill time of %s and the hold time of %s as run that is %s of "
                        "cooling time.",
                        cooling_time(c, fill, 0.1), hold, cooling_time(c, cooling, step));
}

static const char *open_sentence(const struct cooling *c, const struct cooling_limit *l)
{
    const struct cooling_measure *m = l->m;
    const char *longest = m != NULL
                              ? cooling_time(c, m->blocks.group_x[m->blocks.n_groups - 1], PL_NAN)
                              : cooling_time(c, c->defects.last_bad, PL_NAN);
    if (m == NULL)
        return arena_printf(c->a,
                            "parts still had defects at %s, the longest tested; find their cause "
                            "or test longer cooling times",
                            longest);
    if (strcmp(l->criterion, "cooling_yield") == 0)
        return arena_printf(c->a,
                            "%s is outside its limits in too many parts at %s, the longest tested; "
                            "cooling time alone will not bring it inside: look at hold pressure, "
                            "mold temperature and the steel",
                            m->words, longest);
    if (m->temperature)
        return arena_printf(c->a,
                            "at %s, the longest tested, the part is not shown to be below %s; test "
                            "longer cooling times or a colder mold",
                            longest, cooling_limit_text(c, m, m->high));
    if (m->r.state == PLATEAU_NOT_REACHED)
        return arena_printf(c->a,
                            "%s still changes by %s between %s and %s, more than the %s allowed; "
                            "test longer cooling times",
                            m->words, cooling_amount(c, m, fabs(m->r.rise), m->r.tolerance / 10.0),
                            cooling_time(c, m->blocks.group_x[m->r.rise_from], PL_NAN), longest,
                            cooling_amount(c, m, m->r.tolerance, PL_NAN));
    return arena_printf(c->a,
                        "the shots up to %s do not show where %s settles; test longer cooling "
                        "times, with more shots at each",
                        longest, m->words);
}

static const char *first_open(const struct cooling *c)
{
    for (size_t i = 0; i < c->n_limits; i++)
        if (c->limit[i].withdraws)
            return open_sentence(c, &c->limit[i]);
    return "";
}

/* The deciding bound, never shown shorter than it is. */
static const char *bound_text(const struct cooling *c)
{
    return value_text_toward(c->a, c->trial->display, DIM_TIME, c->high, c->time_step, +1);
}

void cooling_decision(struct cooling *c)
{
    if (c->n == 0)
        c->f->decision = "There is no usable shot: nothing can be said about cooling.";
    else if (c->withdrawn)
        c->f->decision =
            arena_printf(c->a, "No %s is bounded: %s.", cooling_axis(c), first_open(c));
    else if (c->decides == NULL)
        c->f->decision = arena_printf(
            c->a,
            "No %s is bounded: nothing that was measured has a limit. Give limits under "
            "[dimensions], or ejection_temperature under [material].",
            cooling_axis(c));
    else if (c->hold_from == NULL)
        c->f->decision = arena_printf(c->a, "Cool for at least %s with the hold time as run: %s.",
                                      bound_text(c), why_it_decides(c));
    else
        c->f->decision =
            arena_printf(c->a,
                         "Keep the mold closed for at least %s from the start of filling: "
                         "%s.%s",
                         bound_text(c), why_it_decides(c), cooling_at(c));
}
