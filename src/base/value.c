/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers with units for people. */
#include <math.h>
#include <string.h>

#include "plateau/base.h"

static struct display_unit shown_unit(const struct display_unit display[DIM_N], enum dimension d)
{
    if (display != NULL && display[d].name != NULL)
        return display[d];
    return (struct display_unit){dimension_unit(d), 1.0, 0.0};
}

double round_toward(double v, int decimals, int toward)
{
    if (toward == 0 || !isfinite(v))
        return v;
    /* the slack forgives the conversion of units */
    double scale = pow(10.0, decimals), slack = 1e-9 * (1.0 + fabs(v * scale));
    return (toward > 0 ? ceil(v * scale - slack) : floor(v * scale + slack)) / scale;
}

static void add_decimals(struct text *t, double v, double half)
{
    if (isfinite(half) && half > 0.0) {
        text_add_fixed(t, v, decimals_for(half));
        return;
    }
    text_add_number(t, v, 4);
    if (strchr(t->s, '.') == NULL || strchr(t->s, 'e') != NULL)
        return;
    while (t->s[t->length - 1] == '0')
        t->s[--t->length] = '\0';
    if (t->s[t->length - 1] == '.')
        t->s[--t->length] = '\0';
}

static void add_unit(struct text *t, const struct display_unit *u)
{
    if (u->name[0] != '\0' && strcmp(u->name, "1") != 0)
        text_addf(t, " %s", u->name);
}

const char *value_text(struct arena *a, const struct display_unit display[DIM_N], enum dimension d,
                       double v, double half_width)
{
    struct text t;
    struct display_unit u = shown_unit(display, d);
    text_init(&t, a);
    if (!isfinite(v))
        return "-";
    add_decimals(&t, (v - u.offset) / u.factor, half_width / u.factor);
    add_unit(&t, &u);
    return t.s;
}

const char *value_text_toward(struct arena *a, const struct display_unit display[DIM_N],
                              enum dimension d, double v, double half_width, int toward)
{
    struct display_unit u = shown_unit(display, d);
    double shown = (v - u.offset) / u.factor, half = half_width / u.factor;
    if (!isfinite(shown))
        return "-";
    bool by_width = isfinite(half) && half > 0.0;
    int decimals = by_width       ? decimals_for(half)
                   : shown != 0.0 ? 3 - (int)floor(log10(fabs(shown) * (1.0 + 1e-12)))
                                  : 0;
    shown = round_toward(shown, decimals, toward);
    return value_text(a, display, d, shown * u.factor + u.offset, half_width);
}

const char *interval_text(struct arena *a, const struct display_unit display[DIM_N],
                          enum dimension d, double low, double high)
{
    struct display_unit u = shown_unit(display, d);
    if (!isfinite(low) && !isfinite(high))
        return "not known";
    if (!isfinite(low))
        return arena_printf(a, "below %s", value_text_toward(a, display, d, high, PL_NAN, +1));
    if (!isfinite(high))
        return arena_printf(a, "above %s", value_text_toward(a, display, d, low, PL_NAN, -1));
    double half = (high - low) / 2.0 / u.factor;
    struct text t;
    text_init(&t, a);
    if (half > 0.0) {
        int decimals = decimals_for(half);
        text_add_fixed(&t, round_toward((low - u.offset) / u.factor, decimals, -1), decimals);
        text_add(&t, " to ");
        text_add_fixed(&t, round_toward((high - u.offset) / u.factor, decimals, +1), decimals);
        add_unit(&t, &u);
        return t.s;
    }
    return value_text(a, display, d, low, PL_NAN);
}

const char *melt_pressure_text(struct arena *a, const struct display_unit display[DIM_N],
                               const struct facts *f, double v, double half_width)
{
    static const char basis[] = " (hydraulic)";
    const char *name = display != NULL ? display[DIM_PRESSURE].name : NULL;
    size_t n = name != NULL ? strlen(name) : 0, k = sizeof basis - 1;
    if (n <= k || strcmp(name + n - k, basis) != 0 || isnan(v))
        return NULL;
    double ratio = facts_number(f, "press", "intensification_ratio", PL_NAN);
    struct display_unit melt[DIM_N] = {{NULL, 0.0, 0.0}}; /* MPa, where the ratio is not known */
    if (ratio > 0.0)
        melt[DIM_PRESSURE] = (struct display_unit){arena_copy_n(a, name, n - k),
                                                   display[DIM_PRESSURE].factor / ratio, 0.0};
    return value_text(a, melt, DIM_PRESSURE, v, half_width);
}
