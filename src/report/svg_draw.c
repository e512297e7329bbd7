/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Regions, bands, curves, rules and their styles. Every role has its own line style or hatch, so
 * that a copy in black and white says the same. */
#include <math.h>

#include "report/svg.h"

const char *svg_rule_style(enum rule_role role)
{
    switch (role) {
    case RULE_BOUND:
        return "stroke=\"" SVG_INK "\" stroke-width=\"2.2\"";
    case RULE_AIM:
        return "stroke=\"" SVG_INK "\" stroke-width=\"2.2\" stroke-dasharray=\"11 3 2 3\"";
    case RULE_LIMIT:
        return "stroke=\"" SVG_INK "\" stroke-width=\"1.6\" stroke-dasharray=\"9 4\"";
    case RULE_TOLERANCE:
        return "stroke=\"" SVG_GREY "\" stroke-width=\"1.8\" stroke-dasharray=\"2 3\"";
    case RULE_ESTIMATE:
        return "stroke=\"" SVG_BLUE "\" stroke-width=\"1.3\" stroke-dasharray=\"5 3\"";
    }
    return "";
}

static const char *curve_style(enum curve_role role)
{
    return role == CURVE_FIT ? "stroke=\"" SVG_BLUE "\" stroke-width=\"2.4\""
                             : "stroke=\"" SVG_GREY
                               "\" stroke-width=\"1.1\" stroke-dasharray=\"4 3\"";
}

const char *svg_group_style(int group)
{
    static const char *const styles[] = {
        "stroke=\"" SVG_GREY "\" stroke-width=\"1.4\"",
        "stroke=\"" SVG_GREY "\" stroke-width=\"1.4\" stroke-dasharray=\"7 3\"",
        "stroke=\"" SVG_GREY "\" stroke-width=\"1.6\" stroke-dasharray=\"2 3\"",
        "stroke=\"" SVG_GREY "\" stroke-width=\"1.4\" stroke-dasharray=\"10 3 2 3\"",
        "stroke=\"" SVG_GREY "\" stroke-width=\"1.4\" stroke-dasharray=\"4 2\"",
    };
    return styles[(size_t)(group < 1 ? 0 : group - 1) % PL_COUNT(styles)];
}

/* ---- regions ------------------------------------------------------------------------------- */

static const char *region_fill(enum region_role role)
{
    switch (role) {
    case REGION_CHOSEN:
        return "chosen";
    case REGION_REJECTED:
        return "rejected";
    case REGION_INTERVAL:
        return "interval";
    }
    return "chosen";
}

/* Chosen: a light even fill. Interval: thin upright lines. Rejected: a slanting hatch. */
void svg_draw_patterns(struct svg_plot *p)
{
    text_addf(p->out,
              "<defs>\n"
              "<pattern id=\"%s__chosen\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\">"
              "<rect width=\"8\" height=\"8\" fill=\"#e4edf7\"/></pattern>\n"
              "<pattern id=\"%s__interval\" width=\"4\" height=\"4\" "
              "patternUnits=\"userSpaceOnUse\"><rect width=\"4\" height=\"4\" fill=\"#f3f4f6\"/>"
              "<path d=\"M1 0V4\" stroke=\"#c3c8ce\" stroke-width=\"0.8\"/></pattern>\n",
              p->id, p->id);
    text_addf(p->out,
              "<pattern id=\"%s__rejected\" width=\"9\" height=\"9\" "
              "patternUnits=\"userSpaceOnUse\"><path d=\"M0 9L9 0M-1 1L1 -1M8 10L10 8\" "
              "stroke=\"#c9cdd3\" stroke-width=\"1\"/></pattern>\n",
              p->id);
    text_addf(p->out, "<clipPath id=\"%s__clip\"><rect", p->id);
    svg_add_attribute(p->out, "x", p->area.x0);
    svg_add_attribute(p->out, "y", p->area.y0);
    svg_add_attribute(p->out, "width", p->area.x1 - p->area.x0);
    svg_add_attribute(p->out, "height", p->area.y1 - p->area.y0);
    text_add(p->out, "/></clipPath>\n</defs>\n");
}

bool svg_region_box(const struct svg_plot *p, const struct region *r, struct svg_box *b)
{
    double x0 = svg_scale_at(&p->x, r->x_low), x1 = svg_scale_at(&p->x, r->x_high);
    double y0 = svg_scale_at(&p->y, r->y_high), y1 = svg_scale_at(&p->y, r->y_low);
    *b = (struct svg_box){fmax(x0, p->area.x0), fmax(y0, p->area.y0), fmin(x1, p->area.x1),
                          fmin(y1, p->area.y1)};
    return isfinite(x0 + x1 + y0 + y1) && b->x1 > b->x0 && b->y1 > b->y0;
}

static void add_box(struct svg_plot *p, const struct svg_box *b)
{
    svg_add_attribute(p->out, "x", b->x0);
    svg_add_attribute(p->out, "y", b->y0);
    svg_add_attribute(p->out, "width", b->x1 - b->x0);
    svg_add_attribute(p->out, "height", b->y1 - b->y0);
}

void svg_draw_regions(struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_regions; i++) {
        const struct region *r = &p->figure->regions[i];
        struct svg_box b;
        if (!svg_region_box(p, r, &b))
            continue;
        const char *fill = region_fill(r->role);
        text_addf(p->out, "<rect class=\"region %s\" fill=\"url(#%s__%s)\"", fill, p->id, fill);
        if (r->role == REGION_CHOSEN)
            text_add(p->out, " stroke=\"" SVG_BLUE "\" stroke-width=\"0.7\"");
        add_box(p, &b);
        text_add(p->out, "/>\n");
    }
}

/* ---- bands and curves ---------------------------------------------------------------------- */

static void add_point(struct text *out, bool *pen, double x, double y)
{
    text_add_char(out, *pen ? 'L' : 'M');
    svg_add_coordinate(out, x);
    text_add_char(out, ' ');
    svg_add_coordinate(out, y);
    *pen = true;
}

static bool band_point(const struct svg_plot *p, const struct band *b, size_t i, double at[3])
{
    at[0] = svg_scale_at(&p->x, b->x[i]);
    at[1] = svg_scale_at(&p->y, b->low[i]);
    at[2] = svg_scale_at(&p->y, b->high[i]);
    return isfinite(b->x[i]) && isfinite(at[0] + at[1] + at[2]);
}

/* One closed outline per run of points without a gap. */
static void draw_band(struct svg_plot *p, const struct band *b)
{
    text_add(p->out, "<path class=\"band\" fill=\"" SVG_BLUE "\" fill-opacity=\"0.17\" d=\"");
    double at[3];
    for (size_t i = 0, j; i < b->n; i = j + 1) {
        bool pen = false;
        for (j = i; j < b->n && band_point(p, b, j, at); j++) {
            add_point(p->out, &pen, at[0], at[1]);
            svg_field_spot(p, at[0], at[1], 0.0, 1);
            svg_field_spot(p, at[0], at[2], 0.0, 1);
        }
        for (size_t k = j; k > i; k--)
            if (band_point(p, b, k - 1, at))
                add_point(p->out, &pen, at[0], at[2]);
        if (pen)
            text_add_char(p->out, 'Z');
    }
    text_add(p->out, "\"/>\n");
}

void svg_draw_bands(struct svg_plot *p)
{
    for (size_t i = 0; i < p->figure->n_bands; i++)
        draw_band(p, &p->figure->bands[i]);
}

static void draw_curve(struct svg_plot *p, const struct curve *c)
{
    text_addf(p->out, "<path class=\"curve %s\" fill=\"none\" stroke-linejoin=\"round\" %s d=\"",
              c->role == CURVE_FIT ? "fit" : "candidate", curve_style(c->role));
    bool pen = false;
    double px = 0.0, py = 0.0;
    for (size_t i = 0; i < c->n; i++) {
        double x = svg_scale_at(&p->x, c->x[i]), y = svg_scale_at(&p->y, c->y[i]);
        if (!isfinite(c->x[i]) || !isfinite(c->y[i]) || !isfinite(x) || !isfinite(y)) {
            pen = false;
            continue;
        }
        if (pen)
            svg_field_line(p, px, py, x, y, 4);
        add_point(p->out, &pen, x, y);
        px = x;
        py = y;
    }
    text_add(p->out, "\"/>\n");
}

/* Candidates under the fit. */
void svg_draw_curves(struct svg_plot *p)
{
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < p->figure->n_curves; i++)
            if ((p->figure->curves[i].role == CURVE_FIT) == (pass == 1))
                draw_curve(p, &p->figure->curves[i]);
}

/* ---- rules --------------------------------------------------------------------------------- */

void svg_draw_horizontal_rules(struct svg_plot *p)
{
    for (size_t i = 0; i < p->n_rules; i++) {
        const struct rule *r = &p->rules[i];
        if (r->vertical || !svg_scale_inside(&p->y, r->at))
            continue;
        double y = svg_scale_at(&p->y, r->at);
        text_addf(p->out, "<line class=\"rule-line\" %s", svg_rule_style(r->role));
        svg_add_attribute(p->out, "x1", p->area.x0);
        svg_add_attribute(p->out, "y1", y);
        svg_add_attribute(p->out, "x2", p->area.x1);
        svg_add_attribute(p->out, "y2", y);
        text_add(p->out, "/>\n");
        svg_field_line(p, p->area.x0, y, p->area.x1, y, 4);
    }
}

/* ---- samples for the strip of notes -------------------------------------------------------- */

static void sample_line(struct svg_plot *p, const char *style, double x, double y)
{
    text_addf(p->out, "<line class=\"sample\" %s", style);
    svg_add_attribute(p->out, "x1", x);
    svg_add_attribute(p->out, "y1", y);
    svg_add_attribute(p->out, "x2", x + 24.0);
    svg_add_attribute(p->out, "y2", y);
    text_add(p->out, "/>\n");
}

static void sample_swatch(struct svg_plot *p, const char *fill, double x, double y)
{
    text_addf(p->out, "<rect class=\"sample\" %s stroke=\"" SVG_GREY "\" stroke-width=\"0.6\"",
              fill);
    struct svg_box b = {x, y - 6.0, x + 24.0, y + 6.0};
    add_box(p, &b);
    text_add(p->out, "/>\n");
}

void svg_draw_sample(struct svg_plot *p, const struct svg_note *n, double x, double y)
{
    switch (n->sample) {
    case SAMPLE_NONE:
        break;
    case SAMPLE_RULE:
        sample_line(p, svg_rule_style((enum rule_role)n->style), x, y);
        break;
    case SAMPLE_CURVE:
        sample_line(p, curve_style((enum curve_role)n->style), x, y);
        break;
    case SAMPLE_GROUP:
        sample_line(p, svg_group_style(n->style), x, y);
        break;
    case SAMPLE_BAND:
        sample_swatch(p, "fill=\"" SVG_BLUE "\" fill-opacity=\"0.17\"", x, y);
        break;
    case SAMPLE_REGION:
        sample_swatch(p,
                      arena_printf(p->arena, "fill=\"url(#%s__%s)\"", p->id,
                                   region_fill((enum region_role)n->style)),
                      x, y);
        break;
    case SAMPLE_POINT:
        text_addf(p->out, "<g class=\"sample\" %s>", svg_mark_style(n->series->role));
        svg_draw_mark(p->out, n->series, 0, x + 12.0,
                      n->series->role == SERIES_CENSORED ? y + 5.0 : y);
        text_add(p->out, "</g>\n");
        break;
    }
}
