/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Settings and their limits in the unit and the steps of the people at the press. */
#include <math.h>
#include <string.h>

#include "plateau/finding.h"

struct display_unit value_unit(const struct premises *p, enum dimension d)
{
    struct display_unit u = {dimension_unit(d), 1.0, 0.0};
    if (p != NULL && p->display[d].name != NULL && p->display[d].factor > 0.0)
        u = p->display[d];
    if (strcmp(u.name, "1") == 0)
        u.name = "";
    return u;
}

double value_shown(const struct premises *p, enum dimension d, double v)
{
    struct display_unit u = value_unit(p, d);
    return (v - u.offset) / u.factor;
}

static const char *with_unit(struct arena *a, const struct premises *p, enum dimension d,
                             const char *number)
{
    struct display_unit u = value_unit(p, d);
    if (u.name[0] == '\0')
        return number;
    return arena_printf(a, "%s %s", number, u.name);
}

/* The word for a number that is not there, or NULL. */
static const char *no_number(double v)
{
    return isnan(v) ? "-" : isinf(v) ? "open" : NULL;
}

const char *value_fixed(struct arena *a, const struct premises *p, enum dimension d, double v,
                        int decimals, int toward)
{
    const char *word = no_number(v);
    if (word != NULL)
        return word;
    double shown = round_toward(value_shown(p, d, v), decimals, toward);
    struct text t;
    text_init(&t, a);
    text_add_fixed(&t, shown, decimals);
    return with_unit(a, p, d, t.s);
}

const char *value_short(struct arena *a, const struct premises *p, enum dimension d, double v,
                        int digits)
{
    const char *word = no_number(v);
    if (word != NULL)
        return word;
    char *s = arena_copy(a, number_text(a, value_shown(p, d, v), digits));
    if (strchr(s, '.') != NULL && strchr(s, 'e') == NULL) {
        size_t n = strlen(s);
        while (s[n - 1] == '0')
            s[--n] = '\0';
        if (s[n - 1] == '.')
            s[n - 1] = '\0';
    }
    return with_unit(a, p, d, s);
}

/* Decimals that write `step` out: 0.1 needs one, 0.25 two, 5 none. */
static int decimals_of_step(double step)
{
    int least = step < 1.0 ? (int)ceil(-log10(step) - 1e-9) : 0;
    double scaled = step * pow(10.0, least);
    if (fabs(scaled - round(scaled)) > 1e-6 * scaled)
        least++;
    return least > 9 ? 9 : least;
}

int value_step_decimals(const struct premises *p, const char *setting, enum dimension d)
{
    static const struct {
        const char *setting, *key;
        double otherwise; /* canonical; NAN: none is assumed */
    } steps[] = {
        {"clamp_force", "clamp_step", NAN},
        {"closed_time", "time_step", 0.1},
        {"cooling_time", "time_step", 0.1},
        {"hold_pressure", "pressure_step", NAN},
        {"hold_time", "time_step", 0.1},
        {"injection_speed", "speed_step", NAN},
        {"transfer_pressure", "pressure_step", NAN},
    };
    for (size_t i = 0; i < PL_COUNT(steps); i++) {
        if (strcmp(steps[i].setting, setting) != 0)
            continue;
        double step =
            facts_number(p != NULL ? p->facts : NULL, "press", steps[i].key, steps[i].otherwise);
        if (isfinite(step) && step > 0.0)
            return decimals_of_step(step / value_unit(p, d).factor);
    }
    return -1;
}

int value_interval_decimals(const struct premises *p, enum dimension d, double v, double low,
                            double high)
{
    struct display_unit u = value_unit(p, d);
    double half = (high - low) / 2.0 / u.factor;
    if (isfinite(half) && half > 0.0)
        return decimals_for(half);
    double shown = fabs(value_shown(p, d, v));
    if (!isfinite(shown) || shown <= 0.0)
        return 0;
    int decimals = 2 - (int)floor(log10(shown * (1.0 + 1e-12)));
    return decimals < 0 ? 0 : decimals > 9 ? 9 : decimals;
}

const char *setting_text(struct arena *a, const struct premises *p, const char *setting,
                         enum dimension d, double v)
{
    int decimals = value_step_decimals(p, setting, d);
    return decimals < 0 ? value_short(a, p, d, v, 3) : value_fixed(a, p, d, v, decimals, 0);
}

const char *setting_limit_text(struct arena *a, const struct premises *p, const char *setting,
                               enum dimension d, double v, const struct bound *from, int toward)
{
    int decimals = value_step_decimals(p, setting, d);
    if (decimals >= 0)
        return value_fixed(a, p, d, v, decimals, toward);
    bool measured =
        from != NULL && isfinite(from->low) && isfinite(from->high) && from->low < from->high;
    decimals =
        value_interval_decimals(p, d, v, measured ? from->low : v, measured ? from->high : v);
    if (measured || !isfinite(v))
        return value_fixed(a, p, d, v, decimals, toward);
    struct display_unit u = value_unit(p, d);
    double shown = round_toward((v - u.offset) / u.factor, decimals, toward);
    return value_short(a, p, d, shown * u.factor + u.offset, 3);
}
