/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Extremes of the answer over the confidence region of one family.
 *
 * For given theta the residual sum is a parabola in A, so the region {S <= crit} is, theta by
 * theta, an explicit interval of A, and the answer f = inverse(delta / A; theta) is monotone in A.
 * What is left is to follow theta: one coordinate by scan, Brent minimum and Brent roots, a second
 * one (where the family has it) by the same search around the first. Minima are found before the
 * region is cut, so a region much narrower than the scan is not missed. */
#include <math.h>

#include "math/math_internal.h"

#define SCAN_1D 48
#define SCAN_GAP 7
#define SCAN_INNER 24
#define SCAN_OUTER 16
#define SCAN_OBJECTIVE 9 /* points of a region */
#define MOST_REGIONS 8

enum kind { F_HIGH, F_LOW, P_HIGH, P_LOW, C_HIGH, C_LOW, KINDS };

struct line {
    const struct family *f;
    const struct scaled *s;
    double v;      /* outer coordinate */
    double s_flat; /* S of A = 0 */
    double crit, delta;
    double low, high; /* range of the inner coordinate u */
    size_t points;
    enum kind kind;
    double sign; /* objective is minimised: sign -1 maximises */
};

static void theta_at(const struct line *l, double u, double theta[2])
{
    switch (l->f->id) {
    case FAMILY_EXPONENTIAL:
        theta[0] = exp(u);
        break;
    case FAMILY_LOGISTIC: /* u is close to the distance of the middle from the first setting */
        theta[1] = exp(l->v);
        theta[0] = u / theta[1];
        break;
    case FAMILY_STRETCHED:
        theta[0] = exp(u);
        theta[1] = exp(l->v);
        break;
    case FAMILY_CONSTANT:
    case FAMILY_LINE:
    case FAMILY_LINEAR_PLATEAU:
    case FAMILY_QUADRATIC_PLATEAU:
    case FAMILY_BROKEN_STICK:
    case FAMILY_N:
        theta[0] = u;
        break;
    }
}

static double sum_at(double u, void *context)
{
    struct line *l = context;
    double theta[2] = {0.0, 0.0};
    struct inner in;
    theta_at(l, u, theta);
    if (!family_inner(l->f, l->s, theta, &in))
        return 2.0 * l->s_flat;
    return in.a > 0.0 ? in.s0 : l->s_flat;
}

/* The objective of the line's kind at u, times sign. */
static double objective_at(double u, void *context)
{
    struct line *l = context;
    double theta[2] = {0.0, 0.0}, value = NAN;
    struct inner in;
    theta_at(l, u, theta);
    if (!family_inner(l->f, l->s, theta, &in))
        return INFINITY;
    double half2 = fmax(0.0, l->crit - in.s0);
    double a_low = in.a - sqrt(half2 / in.d), a_high = in.a + sqrt(half2 / in.d);
    switch (l->kind) {
    case F_HIGH:
        value = a_high > 0.0 ? l->f->inverse(l->delta / a_high, theta, l->s->x0) : -PL_INF;
        break;
    case F_LOW:
        value = a_low > 0.0 ? l->f->inverse(l->delta / a_low, theta, l->s->x0) : -PL_INF;
        break;
    case P_HIGH:
        value = in.p + sqrt(half2 * in.p_var);
        break;
    case P_LOW:
        value = in.p - sqrt(half2 * in.p_var);
        break;
    case C_HIGH:
    case C_LOW:
        value = theta[0];
        break;
    case KINDS:
        break;
    }
    return l->sign * value;
}

struct region {
    double a, b, u, s;
    bool at_low, at_high; /* reaches the end of the range */
};

/* A function of one coordinate and its scan. */
struct scan {
    double (*fn)(double u, void *context);
    void *context;
    size_t points;
    double u[SCAN_1D], s[SCAN_1D];
};

static void scan_fill(struct scan *c, double low, double high)
{
    for (size_t i = 0; i < c->points; i++) {
        c->u[i] = low + (high - low) * (double)i / (double)(c->points - 1);
        c->s[i] = c->fn(c->u[i], c->context);
    }
}

/* The local minimum at scan point i, refined; false when i is none. */
static bool local_minimum(struct scan *c, size_t i, double *u, double *s)
{
    size_t last = c->points - 1;
    if ((i > 0 && c->s[i - 1] < c->s[i]) || (i < last && c->s[i + 1] <= c->s[i]))
        return false;
    double a = c->u[i > 0 ? i - 1 : 0], b = c->u[i < last ? i + 1 : last], m = c->u[i];
    *u = m;
    *s = c->s[i];
    if (i == 0 || i == last) { /* the minimum may lie between the end and its neighbour */
        double inner = i == 0 ? m + 0.1 * (b - m) : m - 0.1 * (m - a);
        if (c->fn(inner, c->context) >= *s)
            return true;
        m = inner;
    }
    *u = math_least(c->fn, c->context, a, m, b, s);
    return true;
}

static double region_edge(struct scan *c, double from, bool down, double crit, bool *at_end)
{
    double inside = from;
    for (size_t k = 0; k < c->points; k++) {
        size_t i = down ? c->points - 1 - k : k;
        if (down ? c->u[i] >= from : c->u[i] <= from)
            continue;
        if (c->s[i] > crit)
            return math_root(c->fn, c->context, crit, inside, c->u[i]);
        inside = c->u[i];
    }
    *at_end = true;
    return inside;
}

/* All regions {fn <= crit}; returns how many. */
static size_t regions_find(struct scan *c, double crit, struct region *out)
{
    size_t n = 0;
    for (size_t i = 0; i < c->points && n < MOST_REGIONS; i++) {
        struct region r = {.at_low = false};
        if (!local_minimum(c, i, &r.u, &r.s) || !(r.s <= crit))
            continue;
        if (n > 0 && r.u <= out[n - 1].b)
            continue;
        r.a = region_edge(c, r.u, true, crit, &r.at_low);
        r.b = region_edge(c, r.u, false, crit, &r.at_high);
        out[n++] = r;
    }
    return n;
}

/* Least value of fn near the lowest of its scanned values, by Brent. */
static double refine_least(double (*fn)(double, void *), void *context, const double *u,
                           const double *v)
{
    size_t best = 0;
    for (size_t i = 1; i < SCAN_OBJECTIVE; i++)
        if (v[i] < v[best])
            best = i;
    double value = v[best];
    if (!isfinite(value) || !(u[SCAN_OBJECTIVE - 1] > u[0]))
        return value;
    if (best > 0 && best < SCAN_OBJECTIVE - 1) {
        math_least(fn, context, u[best - 1], u[best], u[best + 1], &value);
        return value;
    }
    size_t other = best == 0 ? 1 : best - 1;
    double m = u[best] + 0.1 * (u[other] - u[best]);
    if (fn(m, context) < value)
        math_least(fn, context, fmin(u[best], u[other]), m, fmax(u[best], u[other]), &value);
    return value;
}

static void objective_points(double a, double b, double *u)
{
    for (size_t i = 0; i < SCAN_OBJECTIVE; i++)
        u[i] = a + (b - a) * (double)i / (SCAN_OBJECTIVE - 1);
}

static double least_over(double (*fn)(double, void *), void *context, double a, double b)
{
    double u[SCAN_OBJECTIVE], v[SCAN_OBJECTIVE];
    objective_points(a, b, u);
    for (size_t i = 0; i < SCAN_OBJECTIVE; i++)
        v[i] = fn(u[i], context);
    return refine_least(fn, context, u, v);
}

static const double kind_sign[KINDS] = {-1.0, 1.0, -1.0, 1.0, -1.0, 1.0};

static void line_scan(struct line *l, struct scan *c)
{
    c->fn = sum_at;
    c->context = l;
    c->points = l->points;
    scan_fill(c, l->low, l->high);
}

static size_t line_regions(struct line *l, struct region *r)
{
    struct scan c;
    line_scan(l, &c);
    return regions_find(&c, l->crit, r);
}

static void note_extreme(struct extremes *out, enum kind kind, double signed_value)
{
    double value = kind_sign[kind] * signed_value;
    switch (kind) {
    case F_HIGH:
        out->f_high = fmax(out->f_high, value);
        break;
    case F_LOW:
        out->f_low = fmin(out->f_low, value);
        break;
    case P_HIGH:
        out->p_high = fmax(out->p_high, value);
        break;
    case P_LOW:
        out->p_low = fmin(out->p_low, value);
        break;
    case C_HIGH:
        out->c_high = fmax(out->c_high, value);
        break;
    case C_LOW:
        out->c_low = fmin(out->c_low, value);
        break;
    case KINDS:
        break;
    }
}

/* ---- families of one theta
 * ------------------------------------------------------------------------ */

void family_range(const struct family *f, const struct scaled *s, double low[2], double high[2])
{
    double first = s->knots[0], last = s->knots[s->n_knots - 1];
    low[1] = high[1] = 0.0;
    if (!f->smooth) { /* corner */
        low[0] = first;
        high[0] = last;
    } else if (f->id == FAMILY_LOGISTIC) { /* h, width */
        low[0] = 0.0;
        high[0] = 500.0;
        low[1] = 0.05 * s->spacing;
        high[1] = 1.0;
    } else { /* time constant, exponent */
        low[0] = 0.02 * s->spacing;
        high[0] = 30.0;
        low[1] = f->n_theta == 2 ? 0.3 : 0.0;
        high[1] = f->n_theta == 2 ? 8.0 : 0.0;
    }
}

struct span { /* pieces of the plausible range on which S is smooth */
    double low, high;
    size_t points;
    bool last; /* its upper end is the end of the plausible range */
};

static size_t spans_of(const struct family *f, const struct scaled *s, struct span *out)
{
    if (f->id == FAMILY_EXPONENTIAL) {
        double low[2], high[2];
        family_range(f, s, low, high);
        out[0] = (struct span){log(low[0]), log(high[0]), SCAN_1D, true};
        return 1;
    }
    size_t n = 0;
    for (size_t i = 0; i + 1 < s->n_knots; i++)
        out[n++] = (struct span){s->knots[i], s->knots[i + 1], SCAN_GAP, i + 2 == s->n_knots};
    return n;
}

#define MOST_SPANS 512

/* ---- rough ends of smooth families -------------------------------------------------------------
 */

struct rough { /* signed least objective by kind, and where */
    double value, theta[2];
};

static void rough_over(struct line *l, const struct region *r, struct rough *best)
{
    double u[SCAN_OBJECTIVE];
    objective_points(r->a, r->b, u);
    for (enum kind k = F_HIGH; k <= P_LOW; k++) {
        l->kind = k;
        l->sign = kind_sign[k];
        for (size_t i = 0; i < SCAN_OBJECTIVE; i++) {
            double v = objective_at(u[i], l);
            if (v < best[k].value) {
                best[k].value = v;
                theta_at(l, u[i], best[k].theta);
            }
        }
    }
}

static void rough_init(struct rough best[KINDS])
{
    for (enum kind k = F_HIGH; k < KINDS; k++)
        best[k] = (struct rough){PL_INF, {0.0, 0.0}};
}

static void polish_ends(const struct line *l, const struct rough best[KINDS], double best_answer,
                        double best_level, struct extremes *out)
{
    for (enum kind k = F_HIGH; k <= P_LOW; k++) {
        bool answer = k == F_HIGH || k == F_LOW;
        double value = kind_sign[k] * best[k].value;
        if (isfinite(value))
            value =
                family_polish_end(l->f, l->s, answer ? PINNED_ANSWER : PINNED_LEVEL, l->delta,
                                  l->crit, answer ? best_answer : best_level, value, best[k].theta);
        note_extreme(out, k, kind_sign[k] * value);
    }
}

static void extremes_exponential(struct line *l, struct rough best[KINDS], struct extremes *out)
{
    struct span span = {0.0, 0.0, SCAN_1D, true};
    struct scan c;
    struct region r[MOST_REGIONS];
    spans_of(l->f, l->s, &span);
    l->low = span.low;
    l->high = span.high;
    l->points = span.points;
    line_scan(l, &c);
    size_t n = regions_find(&c, l->crit, r);
    for (size_t j = 0; j < n; j++) {
        out->open_top |= r[j].at_high;
        rough_over(l, &r[j], best);
    }
}

/* ---- corner families: exact piece by piece ------------------------------------------------------
 */

static void extremes_corner(struct line *l, struct extremes *out)
{
    struct span spans[MOST_SPANS];
    size_t n = spans_of(l->f, l->s, spans);
    for (size_t i = 0; i < n; i++) {
        l->low = spans[i].low;
        l->high = spans[i].high;
        l->points = spans[i].points;
        struct scan c;
        struct region r[MOST_REGIONS];
        line_scan(l, &c);
        size_t regions = regions_find(&c, l->crit, r);
        for (size_t j = 0; j < regions; j++) {
            out->open_top |= r[j].at_high && spans[i].last;
            for (enum kind k = F_HIGH; k < KINDS; k++) {
                l->kind = k;
                l->sign = kind_sign[k];
                note_extreme(out, k, least_over(objective_at, l, r[j].a, r[j].b));
            }
        }
    }
}

static bool search_1d(struct line *l, double theta[2], double *s0)
{
    struct span spans[MOST_SPANS];
    size_t n = spans_of(l->f, l->s, spans);
    *s0 = l->s_flat;
    bool found = false;
    for (size_t i = 0; i < n; i++) {
        l->low = spans[i].low;
        l->high = spans[i].high;
        l->points = spans[i].points;
        struct scan c;
        line_scan(l, &c);
        for (size_t j = 0; j < c.points; j++) {
            double u, value;
            if (local_minimum(&c, j, &u, &value) && value < *s0) {
                *s0 = value;
                theta_at(l, u, theta);
                found = true;
            }
        }
    }
    return found;
}

/* ---- families of two thetas: the second one outside
 * ------------------------------------------------- */

static double outer_sum(double v, void *context)
{
    struct line *l = context;
    l->v = v;
    struct scan c;
    line_scan(l, &c);
    double best = l->s_flat;
    for (size_t i = 0; i < c.points; i++) {
        double u, s;
        if (local_minimum(&c, i, &u, &s) && s < best)
            best = s;
    }
    return best;
}

static void ranges_2d(struct line *l, double *v_low, double *v_high)
{
    double low[2], high[2];
    family_range(l->f, l->s, low, high);
    bool logarithm = l->f->id == FAMILY_STRETCHED;
    l->points = SCAN_INNER;
    l->low = logarithm ? log(low[0]) : 0.0;
    l->high = logarithm ? log(high[0]) : l->s->knots[l->s->n_knots - 1] - l->s->x0 + 0.5;
    *v_low = log(low[1]);
    *v_high = log(high[1]);
}

static void outer_scan(struct line *l, struct scan *c)
{
    double low, high;
    ranges_2d(l, &low, &high);
    c->fn = outer_sum;
    c->context = l;
    c->points = SCAN_OUTER;
    scan_fill(c, low, high);
}

static void extremes_2d(struct line *l, struct rough best[KINDS], struct extremes *out)
{
    struct scan c;
    struct region r[MOST_REGIONS];
    outer_scan(l, &c);
    size_t n = regions_find(&c, l->crit, r);
    for (size_t j = 0; j < n; j++) {
        double v[SCAN_OBJECTIVE];
        /* a logistic as wide as the range has no end in it; the exponent of a stretched exponential
         * is large where the curve ends early, so that the end of its range opens nothing */
        if (l->f->id != FAMILY_STRETCHED)
            out->open_top |= r[j].at_high;
        objective_points(r[j].a, r[j].b, v);
        for (size_t i = 0; i < SCAN_OBJECTIVE; i++) {
            struct region inner[MOST_REGIONS];
            l->v = v[i];
            size_t found = line_regions(l, inner);
            for (size_t m = 0; m < found; m++)
                rough_over(l, &inner[m], best);
        }
    }
}

static bool search_2d(struct line *l, double theta[2], double *s0)
{
    struct scan c;
    outer_scan(l, &c);
    *s0 = l->s_flat;
    double best_v = NAN;
    for (size_t i = 0; i < c.points; i++) {
        double v, s;
        if (local_minimum(&c, i, &v, &s) && s < *s0) {
            *s0 = s;
            best_v = v;
        }
    }
    if (isnan(best_v))
        return false;
    l->v = best_v;
    struct scan inner;
    line_scan(l, &inner);
    double best = INFINITY;
    for (size_t i = 0; i < inner.points; i++) {
        double u, s;
        if (local_minimum(&inner, i, &u, &s) && s < best) {
            best = s;
            theta_at(l, u, theta);
        }
    }
    return true;
}

/* ---- the room's two entries
 * ---------------------------------------------------------------------------- */

static struct line line_of(const struct family *f, const struct scaled *s)
{
    struct line l = {.f = f, .s = s};
    for (size_t i = 0; i < s->m; i++)
        l.s_flat += s->w[i] * (s->y[i] - s->y_mean) * (s->y[i] - s->y_mean);
    return l;
}

bool family_search(const struct family *f, const struct scaled *s, double theta[2], double *s0)
{
    struct line l = line_of(f, s);
    return f->n_theta == 2 ? search_2d(&l, theta, s0) : search_1d(&l, theta, s0);
}

void family_extremes(const struct family *f, const struct scaled *s, double crit, double delta,
                     double best_answer, double best_level, struct extremes *out)
{
    struct line l = line_of(f, s);
    struct rough best[KINDS];
    l.crit = crit;
    l.delta = delta;
    *out = (struct extremes){.f_low = PL_INF,
                             .f_high = -PL_INF,
                             .p_low = PL_INF,
                             .p_high = -PL_INF,
                             .c_low = PL_INF,
                             .c_high = -PL_INF};
    if (!f->smooth) {
        extremes_corner(&l, out);
        return;
    }
    rough_init(best);
    if (f->n_theta == 2)
        extremes_2d(&l, best, out);
    else
        extremes_exponential(&l, best, out);
    polish_ends(&l, best, best_answer, best_level, out);
}
