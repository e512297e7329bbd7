/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values and sentences of the window. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

static struct display_unit unit_of(const struct work *w, enum dimension d)
{
    if (w->premises != NULL && w->premises->display[d].name != NULL)
        return w->premises->display[d];
    return (struct display_unit){dimension_unit(d), 1.0, 0.0};
}

/* Decimals that show a step as it is: 0.1 needs 1, 2.5 needs 1, 10 needs 0. A step that is not
 * round in this unit needs no more digits than its size. */
static int step_decimals(double step)
{
    for (int k = 0; k <= 4; k++) {
        double scaled = step * pow(10.0, k);
        if (scaled > 0.5 && fabs(scaled - round(scaled)) < 1e-6 * scaled)
            return k;
    }
    int k = step > 0.0 ? (int)ceil(-log10(step)) : 3;
    return k < 0 ? 0 : k > 6 ? 6 : k;
}

static int significant_decimals(double v, int digits)
{
    if (!(fabs(v) > 0.0))
        return 0;
    int k = digits - 1 - (int)floor(log10(fabs(v)));
    return k < 0 ? 0 : k > 9 ? 9 : k;
}

static const char *with_unit(const struct work *w, double shown, int decimals, const char *unit)
{
    struct text t;
    text_init(&t, w->arena);
    text_add_fixed(&t, shown, decimals);
    if (unit != NULL && *unit != '\0')
        text_addf(&t, " %s", unit);
    return t.s;
}

const char *window_words(const struct work *w, const struct setting_spec *s, double v, int toward)
{
    struct display_unit u = unit_of(w, s->dimension);
    double shown = (v - u.offset) / u.factor;
    bool given;
    double step = window_step(w, s, &given);
    int least, decimals;
    if (isfinite(step)) {
        least = step_decimals(step / u.factor);
        decimals = least + 1;
    } else {
        least = 0;
        decimals = significant_decimals(shown, 3);
    }
    shown = round_toward(shown, decimals, toward);
    while (decimals > least && fabs(shown - round(shown * pow(10.0, decimals - 1)) /
                                                pow(10.0, decimals - 1)) < 1e-9 * fabs(shown))
        decimals--;
    return with_unit(w, shown, decimals, u.name);
}

const char *window_plain(const struct work *w, enum dimension d, double v)
{
    struct display_unit u = unit_of(w, d);
    double shown = (v - u.offset) / u.factor;
    int decimals = significant_decimals(shown, 3);
    while (decimals > 0 &&
           fabs(shown * pow(10.0, decimals - 1) - round(shown * pow(10.0, decimals - 1))) < 1e-6)
        decimals--;
    return with_unit(w, shown, decimals, u.name);
}

const char *window_decimals(const struct work *w, enum dimension d, double v, int decimals,
                            int toward)
{
    struct display_unit u = unit_of(w, d);
    double shown = round_toward((v - u.offset) / u.factor, decimals, toward);
    while (decimals > 0) {
        double scale = pow(10.0, decimals - 1);
        if (!(fabs(shown * scale - round(shown * scale)) < 1e-6))
            break;
        decimals--;
    }
    return with_unit(w, shown, decimals, u.name);
}

static void add_percent(struct text *t, double share)
{
    double percent = 100.0 * share;
    text_add_fixed(t, percent, fabs(percent - round(percent)) < 1e-9 ? 0 : 1);
}

const char *window_percent(const struct work *w, double share)
{
    struct text t;
    text_init(&t, w->arena);
    add_percent(&t, share);
    text_add(&t, " %");
    return t.s;
}

const char *window_percent_span(const struct work *w, double low, double high)
{
    struct text t;
    text_init(&t, w->arena);
    add_percent(&t, low);
    text_add(&t, " to ");
    add_percent(&t, high);
    text_add(&t, " %");
    return t.s;
}

const char *window_sentence(const struct work *w, const char *s)
{
    size_t n = strlen(s);
    bool ends = n > 0 && strchr(".!?", s[n - 1]) != NULL;
    char *out = arena_printf(w->arena, "%s%s", s, ends || n == 0 ? "" : ".");
    if (out[0] >= 'a' && out[0] <= 'z')
        out[0] = (char)(out[0] - 'a' + 'A');
    return out;
}

void window_assume(struct work *w, const char *fmt, ...)
{
    struct text t;
    text_init(&t, w->arena);
    va_list ap;
    va_start(ap, fmt);
    text_vaddf(&t, fmt, ap);
    va_end(ap);
    for (size_t i = 0; i < w->window->n_assumptions; i++)
        if (strcmp(w->window->assumptions[i].text, t.s) == 0)
            return;
    struct assumption *a =
        ARENA_PUSH(w->arena, w->window->assumptions, w->window->n_assumptions, w->cap_assumptions);
    a->text = t.s;
}

struct flag *window_flag(struct work *w, const char *code, const char *fmt, ...)
{
    struct text t;
    text_init(&t, w->arena);
    va_list ap;
    va_start(ap, fmt);
    text_vaddf(&t, fmt, ap);
    va_end(ap);
    size_t n;
    const struct flag_spec *specs = window_flags(&n);
    enum flag_grade grade = FLAG_DOUBT;
    for (size_t i = 0; i < n; i++)
        if (strcmp(specs[i].code, code) == 0)
            grade = specs[i].grade;
    struct flag *f = ARENA_PUSH(w->arena, w->window->flags, w->window->n_flags, w->cap_flags);
    *f = (struct flag){.code = code, .grade = grade, .text = t.s};
    return f;
}
