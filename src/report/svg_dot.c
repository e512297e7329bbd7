/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Points: where each shot stands, and its mark. Shape says what a point is: dot a shot, diamond a
 * mean, ring left out, square limited, arrow censored. */
#include <math.h>
#include <stdlib.h>

#include "report/svg.h"

#define SPREAD_STEP 7.0  /* between shots that coincide */
#define SPREAD_MOST 36.0 /* of all that coincide together */
#define EDGE_INSET 7.0
#define SAME 0.005 /* two decimals are written */

static bool clamp_inside(double *v, double a, double b)
{
    double low = fmin(a, b), high = fmax(a, b);
    if (*v >= low - 1e-6 && *v <= high + 1e-6)
        return false;
    *v = *v < low ? low + EDGE_INSET : high - EDGE_INSET;
    return true;
}

static void add_series(struct svg_plot *p, const struct series *s)
{
    for (size_t i = 0; i < s->n; i++) {
        if (!isfinite(s->x[i]) || !isfinite(s->y[i]))
            continue;
        double x = svg_scale_at(&p->x, s->x[i]), y = svg_scale_at(&p->y, s->y[i]);
        if (!isfinite(x) || !isfinite(y))
            continue;
        bool beyond_x = clamp_inside(&x, p->area.x0, p->area.x1);
        bool beyond_y = clamp_inside(&y, p->area.y0, p->area.y1);
        p->dots[p->n_dots++] = (struct svg_dot){
            .home = x, .x = x, .y = y, .series = s, .index = i, .outside = beyond_x || beyond_y};
    }
}

static long hundredths(double v)
{
    return lround(v * 100.0);
}

static int by_place(const void *va, const void *vb)
{
    const struct svg_dot *a = va, *b = vb;
    long ax = hundredths(a->home), bx = hundredths(b->home);
    if (ax != bx)
        return ax < bx ? -1 : 1;
    long ay = hundredths(a->y), by = hundredths(b->y);
    if (ay != by)
        return ay < by ? -1 : 1;
    if (a->series != b->series)
        return a->series < b->series ? -1 : 1;
    return a->index < b->index ? -1 : a->index > b->index;
}

static bool same_place(const struct svg_dot *a, const struct svg_dot *b)
{
    return fabs(a->home - b->home) < SAME && fabs(a->y - b->y) < SAME;
}

static bool moves(const struct svg_dot *d)
{
    return d->series->role != SERIES_MEANS;
}

/* Shots of one place side by side, in their order; means stay where they are. */
static void spread_group(struct svg_dot *d, size_t n, double room)
{
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        m += moves(&d[i]);
    if (m < 2)
        return;
    double step = fmin(SPREAD_STEP, room / (double)(m - 1));
    double at = d[0].home - step * (double)(m - 1) / 2.0;
    for (size_t i = 0; i < n; i++)
        if (moves(&d[i])) {
            d[i].x = at;
            at += step;
        }
}

/* Least distance between neighbouring places along x, so that spread shots stay with theirs. */
static double least_gap(const struct svg_plot *p)
{
    double gap = 2.0 * SPREAD_MOST;
    for (size_t i = 1; i < p->n_dots; i++) {
        double d = p->dots[i].home - p->dots[i - 1].home;
        if (d > SAME)
            gap = fmin(gap, d);
    }
    return gap;
}

void svg_dots_place(struct svg_plot *p)
{
    size_t n = 0;
    for (size_t i = 0; i < p->figure->n_series; i++)
        n += p->figure->series[i].n;
    p->dots = ARENA_ARRAY(p->arena, struct svg_dot, n);
    p->n_dots = 0;
    for (size_t i = 0; i < p->figure->n_series && !p->x.empty && !p->y.empty; i++)
        add_series(p, &p->figure->series[i]);
    if (p->n_dots > 0)
        qsort(p->dots, p->n_dots, sizeof *p->dots, by_place);
    double room = fmin(SPREAD_MOST, 0.7 * least_gap(p));
    for (size_t i = 0, j; i < p->n_dots; i = j) {
        for (j = i + 1; j < p->n_dots && same_place(&p->dots[i], &p->dots[j]); j++)
            ;
        spread_group(&p->dots[i], j - i, room);
    }
    for (size_t i = 0; i < p->n_dots; i++)
        svg_field_spot(p, p->dots[i].x, p->dots[i].y, 4.0, 12);
}

/* ---- marks --------------------------------------------------------------------------------- */

static void circle(struct text *out, double x, double y, double r)
{
    text_add(out, "<circle class=\"point\"");
    svg_add_attribute(out, "cx", x);
    svg_add_attribute(out, "cy", y);
    svg_add_attribute(out, "r", r);
    text_add(out, "/>\n");
}

static void begin_path(struct text *out, const char *kind)
{
    text_addf(out, "<path class=\"%s\" d=\"", kind);
}

static void path_point(struct text *out, char command, double x, double y)
{
    text_add_char(out, command);
    svg_add_coordinate(out, x);
    text_add_char(out, ' ');
    svg_add_coordinate(out, y);
}

static void diamond(struct text *out, double x, double y, double r)
{
    begin_path(out, "point");
    path_point(out, 'M', x - r, y);
    path_point(out, 'L', x, y - r);
    path_point(out, 'L', x + r, y);
    path_point(out, 'L', x, y + r);
    text_add(out, "Z\"/>\n");
}

static void square(struct text *out, double x, double y, double r)
{
    begin_path(out, "point");
    path_point(out, 'M', x - r, y - r);
    path_point(out, 'L', x + r, y - r);
    path_point(out, 'L', x + r, y + r);
    path_point(out, 'L', x - r, y + r);
    text_add(out, "Z\"/>\n");
}

/* A bar at the limit and an arrow to the side the value lies on; both ways when it is not told. */
static void arrow(struct text *out, double x, double y, bool up, bool down)
{
    begin_path(out, "point");
    path_point(out, 'M', x - 5.0, y);
    path_point(out, 'L', x + 5.0, y);
    for (int side = -1; side <= 1; side += 2) {
        if (side < 0 ? !up : !down)
            continue;
        path_point(out, 'M', x, y);
        path_point(out, 'L', x, y + side * 11.0);
        path_point(out, 'M', x - 3.5, y + side * 7.0);
        path_point(out, 'L', x, y + side * 11.0);
        path_point(out, 'L', x + 3.5, y + side * 7.0);
    }
    text_add(out, "\"/>\n");
}

static bool infinite_at(const double *v, size_t i)
{
    return v != NULL && isinf(v[i]);
}

void svg_draw_mark(struct text *out, const struct series *s, size_t i, double x, double y)
{
    switch (s->role) {
    case SERIES_SHOTS:
        circle(out, x, y, 3.6);
        break;
    case SERIES_MEANS:
        diamond(out, x, y, 5.0);
        break;
    case SERIES_EXCLUDED:
        circle(out, x, y, 4.0);
        break;
    case SERIES_LIMITED:
        square(out, x, y, 3.6);
        break;
    case SERIES_CENSORED: {
        bool up = infinite_at(s->high, i), down = infinite_at(s->low, i);
        arrow(out, x, y, up || !down, down || !up);
        break;
    }
    }
}

const char *svg_mark_style(enum series_role role)
{
    switch (role) {
    case SERIES_SHOTS:
        return "fill=\"" SVG_BLUE "\" stroke=\"#fff\" stroke-width=\"0.8\"";
    case SERIES_MEANS:
        return "fill=\"" SVG_INK "\" stroke=\"#fff\" stroke-width=\"0.8\"";
    case SERIES_EXCLUDED:
        return "fill=\"#fff\" stroke=\"" SVG_INK "\" stroke-width=\"1.4\"";
    case SERIES_LIMITED:
        return "fill=\"" SVG_GREY "\" stroke=\"" SVG_INK "\" stroke-width=\"1.2\"";
    case SERIES_CENSORED:
        return "fill=\"none\" stroke=\"" SVG_INK "\" stroke-width=\"1.8\"";
    }
    return "";
}

/* ---- series -------------------------------------------------------------------------------- */

/* An end of an error bar: a cap, or an arrow head where the interval is open. */
static void bar_end(struct text *out, double x, double y, bool open, double away)
{
    if (open) {
        path_point(out, 'M', x - 3.5, y - away * 5.0);
        path_point(out, 'L', x, y);
        path_point(out, 'L', x + 3.5, y - away * 5.0);
    } else {
        path_point(out, 'M', x - 4.0, y);
        path_point(out, 'L', x + 4.0, y);
    }
}

/* NAN where the series has no such ends. */
static double end_of(const double *ends, size_t i)
{
    if (ends == NULL)
        return NAN;
    return ends[i];
}

static void error_bar(struct svg_plot *p, const struct svg_dot *d)
{
    const struct series *s = d->series;
    if (s->role == SERIES_CENSORED || (s->low == NULL && s->high == NULL) || d->outside)
        return;
    double low = end_of(s->low, d->index);
    double high = end_of(s->high, d->index);
    if (isnan(low) && isnan(high))
        return;
    double y0 = isnan(low) ? d->y : svg_scale_at(&p->y, low);
    double y1 = isnan(high) ? d->y : svg_scale_at(&p->y, high);
    y0 = fmin(y0, p->area.y1);
    y1 = fmax(y1, p->area.y0);
    begin_path(p->out, "error-bar");
    path_point(p->out, 'M', d->x, y0);
    path_point(p->out, 'L', d->x, y1);
    if (!isnan(low))
        bar_end(p->out, d->x, y0, isinf(low), 1.0);
    if (!isnan(high))
        bar_end(p->out, d->x, y1, isinf(high), -1.0);
    text_add(p->out, "\"/>\n");
    svg_field_line(p, d->x, y0, d->x, y1, 5);
}

/* The line that joins the means of one group, in the order they are given. */
static void group_line(struct svg_plot *p, const struct series *s)
{
    if (s->role != SERIES_MEANS || s->group <= 0)
        return;
    text_addf(p->out, "<path class=\"group-line\" fill=\"none\" %s d=\"",
              svg_group_style(s->group));
    bool pen = false;
    double px = 0.0, py = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        double x = svg_scale_at(&p->x, s->x[i]), y = svg_scale_at(&p->y, s->y[i]);
        if (!isfinite(s->x[i]) || !isfinite(s->y[i]) || !isfinite(x) || !isfinite(y)) {
            pen = false;
            continue;
        }
        path_point(p->out, pen ? 'L' : 'M', x, y);
        if (pen)
            svg_field_line(p, px, py, x, y, 3);
        px = x;
        py = y;
        pen = true;
    }
    text_add(p->out, "\"/>\n");
}

static void draw_one_series(struct svg_plot *p, const struct series *s, bool bars)
{
    text_addf(p->out, "<g class=\"series\" %s>\n",
              bars ? "fill=\"none\" stroke=\"" SVG_INK "\" stroke-width=\"1.2\""
                   : svg_mark_style(s->role));
    for (size_t i = 0; i < p->n_dots; i++) {
        if (p->dots[i].series != s)
            continue;
        if (bars)
            error_bar(p, &p->dots[i]);
        else
            svg_draw_mark(p->out, s, p->dots[i].index, p->dots[i].x, p->dots[i].y);
    }
    text_add(p->out, "</g>\n");
}

/* Used shots first: means with their bars, and what was left out or limited, stay visible on top.
 */
void svg_draw_series(struct svg_plot *p)
{
    static const enum series_role order[] = {SERIES_SHOTS, SERIES_MEANS, SERIES_LIMITED,
                                             SERIES_CENSORED, SERIES_EXCLUDED};
    const struct figure *f = p->figure;
    if (p->n_dots == 0)
        return;
    for (size_t i = 0; i < f->n_series; i++)
        group_line(p, &f->series[i]);
    for (size_t k = 0; k < PL_COUNT(order); k++)
        for (size_t i = 0; i < f->n_series; i++) {
            const struct series *s = &f->series[i];
            if (s->role != order[k])
                continue;
            if (s->low != NULL || s->high != NULL)
                draw_one_series(p, s, true);
            draw_one_series(p, s, false);
        }
}
