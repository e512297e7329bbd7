/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Labels inside the plot: each tries the places near what it names and takes the one with the
 * least drawn under it; without a free place it goes into the strip of notes. */
#include <math.h>
#include <string.h>

#include "report/layout.h"
#include "report/svg.h"

/* Ink that a label may cover: a rule's is needed at its line, a curve's can stand elsewhere. */
#define INK_ANY 1000000L
#define INK_LITTLE 60L
#define LED_COST 120L /* near with a line beneath is better than apart */
#define SPOTS_MOST 400
#define LABEL_WIDEST 330.0

/* Where a label may begin: the start of its baseline, and the point a thin line leads to when it
 * stands apart (NAN: none needed). */
struct spots {
    double x[SPOTS_MOST], y[SPOTS_MOST];
    double to_x[SPOTS_MOST], to_y[SPOTS_MOST];
    size_t n;
};

static void spot_led(struct spots *s, double x, double y, double to_x, double to_y)
{
    if (s->n < SPOTS_MOST && isfinite(x) && isfinite(y)) {
        s->x[s->n] = x;
        s->y[s->n] = y;
        s->to_x[s->n] = to_x;
        s->to_y[s->n++] = to_y;
    }
}

static void spot(struct spots *s, double x, double y)
{
    spot_led(s, x, y, NAN, NAN);
}

/* The thin line from a label to its point does not run through another label. */
static bool leader_free(const struct svg_plot *p, const struct svg_box *b, double x, double y)
{
    double from_x = fmax(b->x0, fmin(x, b->x1)), from_y = fmax(b->y0, fmin(y, b->y1));
    for (int i = 0; i <= 12; i++) {
        double at_x = from_x + (x - from_x) * i / 12.0, at_y = from_y + (y - from_y) * i / 12.0;
        struct svg_box dot = {at_x - 1.0, at_y - 1.0, at_x + 1.0, at_y + 1.0};
        for (size_t k = 0; k < p->n_boxes; k++)
            if (svg_box_overlap(&dot, &p->boxes[k]))
                return false;
    }
    return true;
}

/* The first of the spots with the least ink under the text; a spot is the start of its baseline. */
static bool best_spot(const struct svg_plot *p, const struct spots *s, const char *text,
                      long ink_most, size_t *best)
{
    bool found = false;
    long least = 0;
    for (size_t i = 0; i < s->n && !(found && least == 0); i++) {
        struct svg_box b = svg_text_box(s->x[i], s->y[i], text);
        if (!svg_field_free(p, &b) ||
            (isfinite(s->to_x[i]) && !leader_free(p, &b, s->to_x[i], s->to_y[i])))
            continue;
        long ink = svg_field_ink(p, &b), cost = ink + (isfinite(s->to_x[i]) ? LED_COST : 0);
        if (ink <= ink_most && (!found || cost < least)) {
            least = cost;
            *best = i;
            found = true;
        }
    }
    return found;
}

static bool is_empty(const char *s)
{
    return s == NULL || *s == '\0';
}

/* From the nearest side of the label to the point it names. */
static void leader(struct svg_plot *p, const struct svg_box *b, double x, double y)
{
    double from_x = fmax(b->x0, fmin(x, b->x1)), from_y = fmax(b->y0, fmin(y, b->y1));
    for (int i = 1; i <= 8; i++) { /* later labels keep off */
        double at_x = from_x + (x - from_x) * i / 9.0, at_y = from_y + (y - from_y) * i / 9.0;
        svg_field_take(p, &(struct svg_box){at_x - 1.5, at_y - 1.5, at_x + 1.5, at_y + 1.5});
    }
    double length = hypot(x - from_x, y - from_y), short_of = 5.5 / fmax(length, 5.5);
    text_add(p->out, "<line class=\"leader\" stroke=\"" SVG_GREY "\" stroke-width=\"0.8\"");
    svg_add_attribute(p->out, "x1", from_x);
    svg_add_attribute(p->out, "y1", from_y);
    svg_add_attribute(p->out, "x2", x + (from_x - x) * short_of);
    svg_add_attribute(p->out, "y2", y + (from_y - y) * short_of);
    text_add(p->out, "/>\n");
}

/* Places the label, if there is room; a rule's may be cut, others are rather noted whole. */
static bool is_placed(struct svg_plot *p, const char *kind, const struct spots *s, long ink_most,
                      const struct svg_note *note)
{
    const char *full = note->text;
    const char *text = svg_fitted(p->arena, full, LABEL_WIDEST);
    bool whole = svg_text_width(text) >= svg_text_width(full) || note->sample == SAMPLE_RULE;
    size_t best = 0;
    if (!whole || !best_spot(p, s, text, ink_most, &best))
        return false;
    struct svg_box b = svg_text_box(s->x[best], s->y[best], text);
    if (isfinite(s->to_x[best]))
        leader(p, &b, s->to_x[best], s->to_y[best]);
    svg_text_at(p, kind, s->x[best], s->y[best], text, full);
    return true;
}

static void label(struct svg_plot *p, const char *kind, const struct spots *s, long ink_most,
                  const struct svg_note *note)
{
    if (!is_placed(p, kind, s, ink_most, note))
        svg_note_add(p, note);
}

/* Right, left, above, below a place. */
static void spots_around(struct spots *s, double x, double y, double width, double away)
{
    double half = 0.28 * SVG_FONT;
    spot(s, x + away, y + half);
    spot(s, x - away - width, y + half);
    spot(s, x - width / 2.0, y - away);
    spot(s, x - width / 2.0, y + away + 0.72 * SVG_FONT);
    spot(s, x + away * 0.7, y - away * 0.7);
    spot(s, x - away * 0.7 - width, y - away * 0.7);
    spot(s, x + away * 0.7, y + away * 0.7 + 0.6 * SVG_FONT);
    spot(s, x - away * 0.7 - width, y + away * 0.7 + 0.6 * SVG_FONT);
}

/* The same further away, with a thin line. */
static void spots_apart(struct spots *s, double x, double y, double width)
{
    for (int ring = 0; ring < 3; ring++) {
        double away = 20.0 + 12.0 * ring;
        spot_led(s, x + away, y - away, x, y);
        spot_led(s, x + away, y + away + 0.7 * SVG_FONT, x, y);
        spot_led(s, x - away - width, y - away, x, y);
        spot_led(s, x - away - width, y + away + 0.7 * SVG_FONT, x, y);
        spot_led(s, x - width / 2.0, y + away + 0.7 * SVG_FONT, x, y);
        spot_led(s, x - width / 2.0, y - away, x, y);
    }
}

static double fitted_width(const struct svg_plot *p, const char *s)
{
    return svg_text_width(svg_fitted(p->arena, s, LABEL_WIDEST));
}

/* ---- horizontal rules ---------------------------------------------------------------------- */

static void rule_label(struct svg_plot *p, const struct rule *r)
{
    if (is_empty(r->label))
        return;
    struct spots s = {.n = 0};
    if (svg_scale_inside(&p->y, r->at)) {
        double y = svg_scale_at(&p->y, r->at), width = fitted_width(p, r->label);
        double right = p->area.x1 - width - 4.0;
        for (int i = 0; right - 16.0 * i >= p->area.x0; i++) {
            spot(&s, right - 16.0 * i, y - 0.4 * SVG_FONT);
            spot(&s, right - 16.0 * i, y + 0.95 * SVG_FONT);
        }
        for (int away = 1; away <= 3; away++)
            for (int i = 0; right - 24.0 * i >= p->area.x0; i++) {
                double x = right - 24.0 * i, to = x + width / 2.0;
                spot_led(&s, x, y - 0.3 * SVG_FONT - away * SVG_LINE, to, y);
                spot_led(&s, x, y + 0.95 * SVG_FONT + away * SVG_LINE, to, y);
            }
    }
    label(p, "rule-label", &s, INK_ANY,
          &(struct svg_note){r->label, SAMPLE_RULE, (int)r->role, NULL});
}

static void rule_labels(struct svg_plot *p)
{
    for (size_t i = 0; i < p->n_rules; i++) {
        const struct rule *r = &p->rules[i];
        if (!r->vertical)
            rule_label(p, r);
        else if (!svg_scale_inside(&p->x, r->at) && !is_empty(r->label))
            svg_note_add(p, &(struct svg_note){r->label, SAMPLE_RULE, (int)r->role, NULL});
    }
}

/* ---- words beside points ------------------------------------------------------------------- */

static const char *dot_word(const struct svg_dot *d)
{
    const struct series *s = d->series;
    return s->point_label != NULL && !is_empty(s->point_label[d->index]) ? s->point_label[d->index]
                                                                         : NULL;
}

/* A value in the unit of its axis. */
static const char *axis_value(const struct svg_plot *p, const struct axis *axis, double v)
{
    if (axis->unit == NULL)
        return value_short(p->arena, p->premises, axis->dimension, v, 4);
    return arena_printf(p->arena, "%s %s", number_text(p->arena, v, 4), axis->unit);
}

/* "good (4), flash": the words of the points at one place, each once. */
static const char *words_of_place(struct svg_plot *p, const struct svg_dot *d, size_t n)
{
    struct text t;
    text_init(&t, p->arena);
    int kinds = 0;
    for (size_t i = 0; i < n; i++) {
        const char *word = dot_word(&d[i]);
        size_t before = 0, all = 0;
        for (size_t k = 0; word != NULL && k < n; k++) {
            const char *other = dot_word(&d[k]);
            bool same = other != NULL && strcmp(word, other) == 0;
            all += same;
            before += same && k < i;
        }
        if (word == NULL || before > 0 || ++kinds > 4)
            continue;
        text_addf(&t, "%s%s", t.length > 0 ? ", " : "", word);
        if (all > 1)
            text_addf(&t, " (%zu)", all);
    }
    return t.s;
}

static void place_words(struct svg_plot *p, const struct svg_dot *d, size_t n)
{
    /* words of a great many shots at one place are counted over the first of them only */
    const char *full = words_of_place(p, d, n < 100 ? n : 100);
    if (is_empty(full))
        return;
    struct spots s = {.n = 0};
    const char *text = svg_fitted(p->arena, full, LABEL_WIDEST);
    double width = svg_text_width(text);
    spots_around(&s, d[n - 1].x, d[n - 1].y, width, 8.0);
    spots_around(&s, d[0].x, d[0].y, width, 8.0);
    spots_around(&s, d[0].home, d[0].y, width, 14.0);
    size_t best = 0;
    if (best_spot(p, &s, text, INK_ANY, &best)) {
        svg_text_at(p, "point-label", s.x[best], s.y[best], text, full);
        return;
    }
    const struct series *q = d[0].series;
    const char *note =
        arena_printf(p->arena, "at %s, %s: %s", axis_value(p, &p->figure->x, q->x[d[0].index]),
                     axis_value(p, &p->figure->y, q->y[d[0].index]), full);
    svg_note_add(p, &(struct svg_note){note, SAMPLE_POINT, 0, q});
}

/* A point that was left out and lies far away is drawn at the edge and says where it belongs. */
static void outside_word(struct svg_plot *p, const struct svg_dot *d)
{
    const struct series *q = d->series;
    const char *text =
        arena_printf(p->arena, "outside, at %s, %s", axis_value(p, &p->figure->x, q->x[d->index]),
                     axis_value(p, &p->figure->y, q->y[d->index]));
    struct spots s = {.n = 0};
    double width = fitted_width(p, text);
    spots_around(&s, d->x, d->y, width, 8.0);
    spots_apart(&s, d->x, d->y, width);
    label(p, "point-label", &s, INK_ANY, &(struct svg_note){text, SAMPLE_POINT, 0, q});
}

static void point_labels(struct svg_plot *p)
{
    for (size_t i = 0, j; i < p->n_dots; i = j) {
        const struct svg_dot *d = &p->dots[i];
        for (j = i + 1; j < p->n_dots && fabs(p->dots[j].home - d->home) < 0.005 &&
                        fabs(p->dots[j].y - d->y) < 0.005;
             j++)
            ;
        if (d->outside)
            outside_word(p, d);
        else
            place_words(p, d, j - i);
    }
}

/* ---- lines, bands, series ------------------------------------------------------------------ */

/* Above and below points of a line, from its right end on. */
static void spots_along(struct svg_plot *p, struct spots *s, const double *x, const double *y,
                        size_t n, double width)
{
    size_t step = 1 + n / 40;
    for (size_t k = 0; k < n; k += step) {
        size_t i = n - 1 - k;
        if (!isfinite(x[i]) || !isfinite(y[i]))
            continue;
        double px = svg_scale_at(&p->x, x[i]), py = svg_scale_at(&p->y, y[i]);
        spot(s, px + 5.0, py + 0.28 * SVG_FONT);
        spot(s, px - width, py - 0.5 * SVG_FONT);
        spot(s, px - width, py + 1.2 * SVG_FONT);
        spot(s, px + 4.0, py + 1.3 * SVG_FONT);
        spot(s, px - width - 4.0, py - 0.2 * SVG_FONT);
        spot(s, px - width / 2.0, py - 0.6 * SVG_FONT);
    }
}

/* ---- curves -------------------------------------------------------------------------------- */

#define CURVE_END 0.25 /* of a curve, in which its label stands if it can */
#define CURVE_APART 12.0
#define CURVE_SPOTS 12 /* points that labels are tried at */

static bool curve_point(const struct svg_plot *p, const struct curve *c, size_t i, double *x,
                        double *y)
{
    if (!svg_scale_inside(&p->x, c->x[i]) || !svg_scale_inside(&p->y, c->y[i]))
        return false;
    *x = svg_scale_at(&p->x, c->x[i]);
    *y = svg_scale_at(&p->y, c->y[i]);
    return true;
}

/* From a place in the drawing to the curve. */
static double distance_to(const struct svg_plot *p, const struct curve *c, double x, double y)
{
    double least = INFINITY;
    for (size_t i = 0; i + 1 < c->n; i++) {
        double x0 = svg_scale_at(&p->x, c->x[i]), y0 = svg_scale_at(&p->y, c->y[i]);
        double dx = svg_scale_at(&p->x, c->x[i + 1]) - x0;
        double dy = svg_scale_at(&p->y, c->y[i + 1]) - y0, length = dx * dx + dy * dy;
        double along = length > 0.0 ? ((x - x0) * dx + (y - y0) * dy) / length : 0.0;
        along = fmax(0.0, fmin(1.0, along));
        least = fmin(least, hypot(x - x0 - along * dx, y - y0 - along * dy));
    }
    return least;
}

/* To the nearest of all other curves. */
static double distance_to_others(const struct svg_plot *p, const struct curve *c, double x,
                                 double y)
{
    double least = INFINITY;
    for (size_t i = 0; i < p->figure->n_curves; i++)
        if (&p->figure->curves[i] != c)
            least = fmin(least, distance_to(p, &p->figure->curves[i], x, y));
    return least;
}

static const struct curve *fitted_curve(const struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_curves; i++)
        if (p->figure->curves[i].role == CURVE_FIT && !is_empty(p->figure->curves[i].label))
            return &p->figure->curves[i];
    return NULL;
}

static bool lies_on(const struct svg_plot *p, const struct curve *c, const struct curve *fit)
{
    for (size_t i = 0; i < c->n; i++) {
        double x, y;
        if (curve_point(p, c, i, &x, &y) && distance_to(p, fit, x, y) >= CURVE_APART)
            return false;
    }
    return true;
}

/* Near the right end, with a thin line where there is no room; else anywhere along it. */
static void fit_label(struct svg_plot *p, const struct curve *c)
{
    const struct svg_note note = {c->label, SAMPLE_CURVE, (int)c->role, NULL};
    struct spots s = {.n = 0};
    double width = fitted_width(p, c->label), x, y;
    size_t seen = 0, end = 0;
    for (size_t i = 0; i < c->n; i++)
        seen += curve_point(p, c, i, &x, &y);
    size_t most = 1 + (size_t)(CURVE_END * (double)seen), step = 1 + most / CURVE_SPOTS;
    for (size_t i = c->n; i > 0 && end < most; i--) {
        if (!curve_point(p, c, i - 1, &x, &y) || end++ % step != 0)
            continue;
        spots_around(&s, x, y, width, 8.0);
        spots_apart(&s, x, y, width);
    }
    if (is_placed(p, "curve-label", &s, INK_LITTLE, &note))
        return;
    s.n = 0;
    spots_along(p, &s, c->x, c->y, c->n, width);
    label(p, "curve-label", &s, INK_LITTLE, &note);
}

/* A label with its thin line crosses no other curve. */
static bool crosses_none(const struct svg_plot *p, const struct curve *c, const struct spots *s,
                         size_t i, double width)
{
    double x = s->x[i] + width / 2.0, y = s->y[i] - 0.3 * SVG_FONT;
    for (int k = 1; k <= 8; k++) {
        double at_x = s->to_x[i] + (x - s->to_x[i]) * k / 8.0;
        double at_y = s->to_y[i] + (y - s->to_y[i]) * k / 8.0;
        if (distance_to_others(p, c, at_x, at_y) < CURVE_APART / 3.0)
            return false;
    }
    return true;
}

/* Where the curve is apart from all others, at the end of a thin line. */
static void candidate_label(struct svg_plot *p, const struct curve *c)
{
    struct spots s = {.n = 0};
    double width = fitted_width(p, c->label), x, y;
    size_t step = 1 + c->n / CURVE_SPOTS;
    for (size_t i = c->n; i > 0; i -= i > step ? step : i) {
        if (!curve_point(p, c, i - 1, &x, &y) || distance_to_others(p, c, x, y) < CURVE_APART)
            continue;
        size_t first = s.n, kept = s.n;
        spots_apart(&s, x, y, width);
        for (size_t k = first; k < s.n; k++)
            if (crosses_none(p, c, &s, k, width)) {
                s.x[kept] = s.x[k];
                s.y[kept] = s.y[k];
                s.to_x[kept] = s.to_x[k];
                s.to_y[kept++] = s.to_y[k];
            }
        s.n = kept;
    }
    label(p, "curve-label", &s, INK_LITTLE,
          &(struct svg_note){c->label, SAMPLE_CURVE, (int)c->role, NULL});
}

/* Curves that cannot be told from the one that fits best are named together. */
static void curve_labels(struct svg_plot *p)
{
    const struct curve *fit = fitted_curve(p);
    struct text close;
    text_init(&close, p->arena);
    for (size_t i = 0; i < p->figure->n_curves && !p->x.empty; i++)
        if (p->figure->curves[i].role == CURVE_FIT && !is_empty(p->figure->curves[i].label))
            fit_label(p, &p->figure->curves[i]);
    for (size_t i = 0; i < p->figure->n_curves && !p->x.empty; i++) {
        const struct curve *c = &p->figure->curves[i];
        if (c->role == CURVE_FIT || is_empty(c->label))
            continue;
        if (fit == NULL || !lies_on(p, c, fit))
            candidate_label(p, c);
        else if (close.length == 0)
            text_addf(&close, "close to the %s: %s", fit->label, c->label);
        else
            text_addf(&close, ", %s", c->label);
    }
    if (close.length > 0)
        svg_note_add(p, &(struct svg_note){close.s, SAMPLE_CURVE, CURVE_CANDIDATE, NULL});
}

/* ---- bands and series ----------------------------------------------------------------------- */

static void band_labels(struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_bands; i++) {
        const struct band *b = &p->figure->bands[i];
        if (is_empty(b->label) || p->x.empty)
            continue;
        struct spots s = {.n = 0};
        double width = fitted_width(p, b->label);
        spots_along(p, &s, b->x, b->high, b->n / 2, width);
        spots_along(p, &s, b->x, b->low, b->n, width);
        label(p, "band-label", &s, INK_LITTLE, &(struct svg_note){b->label, SAMPLE_BAND, 0, NULL});
    }
}

static void group_labels(struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_series; i++) {
        const struct series *q = &p->figure->series[i];
        if (q->role != SERIES_MEANS || q->group <= 0 || is_empty(q->label) || p->x.empty)
            continue;
        struct spots s = {.n = 0};
        spots_along(p, &s, q->x, q->y, q->n, fitted_width(p, q->label));
        label(p, "series-label", &s, INK_LITTLE,
              &(struct svg_note){q->label, SAMPLE_GROUP, q->group, NULL});
    }
}

static void series_labels(struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_series; i++) {
        const struct series *q = &p->figure->series[i];
        if ((q->role == SERIES_MEANS && q->group > 0) || is_empty(q->label) || q->n == 0)
            continue;
        struct spots s = {.n = 0};
        double width = fitted_width(p, q->label);
        for (size_t k = p->n_dots; k > 0; k--)
            if (p->dots[k - 1].series == q)
                spots_around(&s, p->dots[k - 1].x, p->dots[k - 1].y, width, 9.0);
        for (size_t k = p->n_dots; k > 0; k--)
            if (p->dots[k - 1].series == q)
                spots_apart(&s, p->dots[k - 1].x, p->dots[k - 1].y, width);
        label(p, "series-label", &s, INK_LITTLE / 6,
              &(struct svg_note){q->label, SAMPLE_POINT, 0, q});
    }
}

/* Rows from the top, left edge, middle, right edge: only inside the region itself. */
static void region_labels(struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_regions; i++) {
        const struct region *r = &p->figure->regions[i];
        struct svg_box b;
        if (is_empty(r->label) || !svg_region_box(p, r, &b))
            continue;
        struct spots s = {.n = 0};
        double width = fitted_width(p, r->label), spare = b.x1 - b.x0 - width - 8.0;
        int rows = (int)floor((b.y1 - b.y0 - 1.4 * SVG_FONT) / (0.5 * SVG_LINE));
        for (int row = 0; spare >= 0.0 && row <= rows; row++)
            for (int k = 0; k < 3; k++)
                spot(&s, b.x0 + 4.0 + spare * k / 2.0,
                     b.y0 + 1.1 * SVG_FONT + 0.5 * SVG_LINE * row);
        label(p, "region-label", &s, INK_LITTLE,
              &(struct svg_note){r->label, SAMPLE_REGION, (int)r->role, NULL});
    }
}

void svg_labels_draw(struct svg_plot *p)
{
    point_labels(p);
    rule_labels(p);
    region_labels(p);
    group_labels(p);
    curve_labels(p);
    series_labels(p);
    band_labels(p);
}
