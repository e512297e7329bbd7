/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Axes: range, unit, ticks at 1-2-5 steps. */
#include <math.h>
#include <string.h>

#include "report/layout.h"
#include "report/svg.h"

/* An excluded point further from the rest than this share of their spread is drawn at the edge: a
 * slip of the pen must not flatten the figure. */
#define EDGE_SHARE 0.6
#define PAD_SHARE 0.05
#define DECADES_WITH_125 3.2

double svg_scale_shown(const struct svg_scale *s, double canonical)
{
    if (!isfinite(canonical))
        return NAN;
    double v = (canonical - s->offset) / s->factor;
    if (!isfinite(v) || (s->log && v <= 0.0))
        return NAN;
    return v;
}

static double position(const struct svg_scale *s, double shown)
{
    double low = s->low, high = s->high, v = shown;
    if (s->log) {
        low = log10(low);
        high = log10(high);
        v = log10(v);
    }
    double share = (v - low) / (high - low);
    share = share < -1.0 ? -1.0 : share > 2.0 ? 2.0 : share;
    return s->from + share * (s->to - s->from);
}

double svg_scale_at(const struct svg_scale *s, double canonical)
{
    if (isnan(canonical))
        return NAN;
    if (isinf(canonical))
        return canonical > 0.0 ? s->to : s->from;
    double v = svg_scale_shown(s, canonical);
    if (isnan(v) && s->log) /* not positive */
        return s->from - (s->to - s->from);
    if (isnan(v))
        return v;
    return position(s, v);
}

bool svg_scale_inside(const struct svg_scale *s, double canonical)
{
    double v = svg_scale_shown(s, canonical), slack = 1e-9 * (s->high - s->low);
    return v >= s->low - slack && v <= s->high + slack;
}

/* ---- range --------------------------------------------------------------------------------- */

static const struct svg_range nothing = {INFINITY, -INFINITY};

static bool seen(const struct svg_range *r)
{
    return r->low <= r->high;
}

static void stretch(const struct svg_scale *s, struct svg_range *r, double canonical)
{
    double v = svg_scale_shown(s, canonical);
    if (isnan(v))
        return;
    r->low = fmin(r->low, v);
    r->high = fmax(r->high, v);
}

static double spread(const struct svg_scale *s, const struct svg_range *r)
{
    return s->log ? log10(r->high / r->low) : r->high - r->low;
}

/* `v` lies not more than `share` of the spread outside. */
static bool near_range(const struct svg_scale *s, const struct svg_range *r, double canonical,
                       double share)
{
    double v = svg_scale_shown(s, canonical);
    if (isnan(v))
        return false;
    if (!seen(r) || spread(s, r) <= 0.0)
        return true;
    double reach = share * spread(s, r);
    if (s->log)
        return v >= r->low * pow(10.0, -reach) && v <= r->high * pow(10.0, reach);
    return v >= r->low - reach && v <= r->high + reach;
}

static void stretch_series(const struct svg_scale *s, struct svg_range *r, const struct series *q,
                           bool is_x)
{
    for (size_t i = 0; i < q->n; i++) {
        /* a point without its other coordinate is not drawn */
        if (!isfinite(q->x[i]) || !isfinite(q->y[i]))
            continue;
        stretch(s, r, is_x ? q->x[i] : q->y[i]);
        if (is_x)
            continue;
        if (q->low != NULL)
            stretch(s, r, q->low[i]);
        if (q->high != NULL)
            stretch(s, r, q->high[i]);
    }
}

static struct svg_range points_range(const struct svg_scale *s, const struct figure *f, bool is_x)
{
    struct svg_range r = nothing;
    for (size_t i = 0; i < f->n_series; i++)
        if (f->series[i].role != SERIES_EXCLUDED)
            stretch_series(s, &r, &f->series[i], is_x);
    struct svg_range used = r;
    for (size_t i = 0; i < f->n_series; i++)
        for (size_t k = 0; f->series[i].role == SERIES_EXCLUDED && k < f->series[i].n; k++) {
            const struct series *q = &f->series[i];
            double v = is_x ? q->x[k] : q->y[k];
            if (isfinite(q->x[k]) && isfinite(q->y[k]) && near_range(s, &used, v, EDGE_SHARE))
                stretch(s, &r, v);
        }
    return r;
}

/* Curves and bands may stretch the figure by as much as the points span, not more: a candidate
 * that runs away is cut off. */
static void stretch_lines(const struct svg_scale *s, struct svg_range *r,
                          const struct svg_range *points, const double *v, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (near_range(s, points, v[i], 1.0))
            stretch(s, r, v[i]);
}

static struct svg_range lines_range(const struct svg_scale *s, const struct figure *f, bool is_x,
                                    const struct svg_range *points)
{
    struct svg_range r = nothing;
    for (size_t i = 0; i < f->n_curves; i++) {
        const struct curve *c = &f->curves[i];
        if (is_x || c->role == CURVE_FIT || !seen(points))
            stretch_lines(s, &r, points, is_x ? c->x : c->y, c->n);
    }
    for (size_t i = 0; i < f->n_bands; i++) {
        const struct band *b = &f->bands[i];
        if (is_x) {
            stretch_lines(s, &r, points, b->x, b->n);
        } else {
            stretch_lines(s, &r, points, b->low, b->n);
            stretch_lines(s, &r, points, b->high, b->n);
        }
    }
    return r;
}

static struct svg_range rules_range(const struct svg_scale *s, const struct figure *f, bool is_x,
                                    const struct rule *rules, size_t n_rules)
{
    struct svg_range r = nothing;
    for (size_t i = 0; i < n_rules; i++)
        if (rules[i].vertical == is_x)
            stretch(s, &r, rules[i].at);
    for (size_t i = 0; i < f->n_regions; i++) {
        stretch(s, &r, is_x ? f->regions[i].x_low : f->regions[i].y_low);
        stretch(s, &r, is_x ? f->regions[i].x_high : f->regions[i].y_high);
    }
    return r;
}

static void join(struct svg_range *r, const struct svg_range *other)
{
    r->low = fmin(r->low, other->low);
    r->high = fmax(r->high, other->high);
}

/* A little air, and something to divide by. */
static void pad(struct svg_scale *s, const struct svg_range *r, bool fixed_low, bool fixed_high,
                double share)
{
    s->low = r->low;
    s->high = r->high;
    if (s->log) {
        double decades = log10(s->high / s->low), by = decades * share;
        if (decades < 1e-9)
            by = 0.3;
        s->low = fixed_low && decades > 0.0 ? s->low : s->low * pow(10.0, -by);
        s->high = fixed_high && decades > 0.0 ? s->high : s->high * pow(10.0, by);
        return;
    }
    double width = s->high - s->low, size = fmax(fabs(s->low), fabs(s->high));
    if (width <= 1e-9 * size || width <= 0.0) {
        double half = size > 0.0 ? 0.05 * size : 0.5;
        s->low -= half;
        s->high += half;
        return;
    }
    double low = s->low - width * share;
    if (!fixed_low)
        s->low = s->low >= 0.0 && low < 0.0 && s->low > 0.0 ? 0.0 : low;
    if (!fixed_high)
        s->high += width * share;
}

/* Overflow would make every coordinate NAN; such figures are empty. */
static bool usable(const struct svg_scale *s, const struct svg_range *r)
{
    if (!seen(r))
        return false;
    if (s->log)
        return r->low > 1e-300 && r->high < 1e300;
    return fabs(r->low) < 1e300 && fabs(r->high) < 1e300;
}

static void set_range(struct svg_scale *s, const struct axis *axis, const struct figure *f,
                      bool is_x, const struct rule *rules, size_t n_rules)
{
    struct svg_range points = points_range(s, f, is_x);
    struct svg_range lines = lines_range(s, f, is_x, &points);
    struct svg_range fixed = rules_range(s, f, is_x, rules, n_rules);
    struct svg_range r = points;
    join(&r, &fixed);
    bool any = seen(&r) || seen(&lines);
    double low = svg_scale_shown(s, axis->low), high = svg_scale_shown(s, axis->high);
    if (isnan(low))
        r.low = fmin(r.low, lines.low);
    if (isnan(high))
        r.high = fmax(r.high, lines.high);
    bool fixed_low = !isnan(low) && low <= r.low, fixed_high = !isnan(high) && high >= r.high;
    r.low = fixed_low ? low : r.low;
    r.high = fixed_high ? high : r.high;
    s->empty = !any || !usable(s, &r);
    if (s->empty)
        r = (struct svg_range){s->log ? 1.0 : 0.0, s->log ? 10.0 : 1.0};
    /* a rule at the rim needs room for its label */
    bool rule_at_rim = !is_x && seen(&fixed) && (fixed.low <= r.low || fixed.high >= r.high);
    pad(s, &r, fixed_low, fixed_high, rule_at_rim ? 2.0 * PAD_SHARE : PAD_SHARE);
}

/* Cavities, stages, shots: no ticks between whole numbers. */
static bool counts(const struct axis *axis, const struct figure *f, bool is_x)
{
    bool whole = axis->dimension == DIM_COUNT && axis->unit == NULL && f->n_series > 0;
    for (size_t i = 0; i < f->n_series && whole; i++)
        for (size_t k = 0; k < f->series[i].n && whole; k++) {
            double v = is_x ? f->series[i].x[k] : f->series[i].y[k];
            whole = !isfinite(v) || v == floor(v);
        }
    return whole;
}

/* ---- title --------------------------------------------------------------------------------- */

static void add_superscript(struct text *t, int n)
{
    static const char *const digits[] = {"\u2070", "\u00b9", "\u00b2", "\u00b3", "\u2074",
                                         "\u2075", "\u2076", "\u2077", "\u2078", "\u2079"};
    char s[16];
    snprintf(s, sizeof s, "%d", n);
    for (const char *p = s; *p != '\0'; p++)
        text_add(t, *p == '-' ? "\u207b" : digits[*p - '0']);
}

/* "residual (10^-6 g)" */
static void set_title(struct arena *a, struct svg_scale *s, const char *title, const char *unit)
{
    struct text t;
    text_init(&t, a);
    text_add(&t, layout_safe(a, title));
    bool has_unit = unit[0] != '\0';
    if (has_unit || s->exponent != 0) {
        text_add(&t, " (");
        if (s->exponent != 0) {
            text_add(&t, "10");
            add_superscript(&t, s->exponent);
            text_add(&t, has_unit ? " " : "");
        }
        text_addf(&t, "%s)", unit);
    }
    s->title = t.s;
}

/* Plain numbers from a thousandth to a million, else multiples of a power of a thousand. */
static int exponent_for(const struct svg_scale *s)
{
    double size = fmax(fabs(s->low), fabs(s->high));
    if (s->log || s->empty || (size >= 2e-3 && size < 1e6))
        return 0;
    return 3 * (int)floor(log10(size) / 3.0);
}

void svg_scale_init(struct arena *a, struct svg_scale *s, const struct axis *axis,
                    const struct premises *p, const struct figure *f, bool is_x,
                    const struct rule *rules, size_t n_rules)
{
    struct display_unit u = svg_unit(p, axis->dimension, axis->unit);
    *s = (struct svg_scale){.log = axis->scale == AXIS_LOG, .factor = u.factor, .offset = u.offset};
    set_range(s, axis, f, is_x, rules, n_rules);
    s->exponent = exponent_for(s);
    s->whole = counts(axis, f, is_x);
    set_title(a, s, axis->title, layout_safe(a, u.name));
}

/* ---- ticks --------------------------------------------------------------------------------- */

#define TICKS_MOST 64

static void add_tick(struct svg_scale *s, double shown, const char *label)
{
    if (s->n_ticks < TICKS_MOST)
        s->ticks[s->n_ticks++] = (struct svg_tick){position(s, shown), label};
}

/* m * 10^k, rounded once */
static double scaled(double m, int k)
{
    return k >= 0 ? m * pow(10.0, k) : m / pow(10.0, -k);
}

static void linear_ticks(struct arena *a, struct svg_scale *s, int mantissa, int k)
{
    s->n_ticks = 0;
    double step = scaled(mantissa, k);
    double first = ceil(s->low / step - 1e-9), last = floor(s->high / step + 1e-9);
    int decimals = s->exponent - k;
    for (int n = 0; first + n <= last && n < TICKS_MOST; n++) {
        double i = first + n;
        struct text t;
        text_init(&t, a);
        text_add_fixed(&t, scaled(i * mantissa, k - s->exponent), decimals > 0 ? decimals : 0);
        add_tick(s, scaled(i * mantissa, k), t.s);
    }
}

/* Enough room between neighbours, in order of place. */
static bool ticks_fit(const struct svg_scale *s, bool is_x)
{
    for (size_t i = 1; i < s->n_ticks; i++) {
        double apart = fabs(s->ticks[i].at - s->ticks[i - 1].at);
        double need = 1.6 * SVG_FONT;
        if (is_x)
            need = (svg_text_width(s->ticks[i].label) + svg_text_width(s->ticks[i - 1].label)) / 2 +
                   0.8 * SVG_FONT;
        if (apart < need)
            return false;
    }
    return true;
}

/* The finest 1-2-5 step whose labels have room. */
static void steps(struct arena *a, struct svg_scale *s, bool is_x)
{
    static const int mantissas[] = {1, 2, 5};
    double width = s->high - s->low;
    int k = (int)floor(log10(width)) - 1;
    k = s->whole && k < 0 ? 0 : k;
    for (int i = 0; i < 9; i++) {
        int mantissa = mantissas[i % 3];
        double n = width / scaled(mantissa, k + i / 3);
        if (n > (is_x ? 9.0 : 8.0))
            continue;
        linear_ticks(a, s, mantissa, k + i / 3);
        if (ticks_fit(s, is_x))
            return;
    }
}

static const char *decade_label(struct arena *a, int mantissa, int k)
{
    struct text t;
    text_init(&t, a);
    if (k >= -3 && k <= 5) {
        text_add_fixed(&t, scaled(mantissa, k), k < 0 ? -k : 0);
        return t.s;
    }
    if (mantissa != 1)
        text_addf(&t, "%d\u00d7", mantissa);
    text_add(&t, "10");
    add_superscript(&t, k);
    return t.s;
}

/* Decades from `every` to `every`, with 2 and 5 between them when asked. */
static void log_ticks(struct arena *a, struct svg_scale *s, bool with_125, int every)
{
    s->n_ticks = 0;
    int first = (int)floor(log10(s->low)), last = (int)ceil(log10(s->high));
    for (int k = first; k <= last && s->n_ticks < TICKS_MOST; k++)
        for (int m = 1; m <= 5; m += m == 1 ? 1 : 3) {
            double v = scaled(m, k);
            bool wanted = with_125 ? true : m == 1 && k % every == 0;
            if (wanted && v >= s->low * (1.0 - 1e-9) && v <= s->high * (1.0 + 1e-9))
                add_tick(s, v, decade_label(a, m, k));
        }
}

static void log_steps(struct arena *a, struct svg_scale *s, bool is_x)
{
    double decades = log10(s->high / s->low);
    if (decades <= DECADES_WITH_125) {
        log_ticks(a, s, true, 1);
        if (s->n_ticks >= 3 && ticks_fit(s, is_x))
            return;
    }
    if (decades < 1.5) { /* too short for decades: even steps tell more */
        steps(a, s, is_x);
        if (s->n_ticks >= 2)
            return;
    }
    for (int every = 1; every <= 256; every *= 2) {
        log_ticks(a, s, false, every);
        if (ticks_fit(s, is_x))
            return;
    }
}

void svg_scale_ticks(struct arena *a, struct svg_scale *s, bool is_x)
{
    s->ticks = ARENA_ARRAY(a, struct svg_tick, TICKS_MOST);
    s->n_ticks = 0;
    if (s->empty)
        return;
    if (s->log)
        log_steps(a, s, is_x);
    else
        steps(a, s, is_x);
}
