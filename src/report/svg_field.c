/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where there is room: boxes of labels, and a coarse picture of what is drawn in the plot. */
#include <math.h>
#include <string.h>

#include "report/svg.h"

#define CELL 4.0
#define INK_MOST 200
#define RIM 2.5
#define BETWEEN 7.0 /* two labels on one line of text */

void svg_field_init(struct svg_plot *p)
{
    p->columns = (size_t)ceil((p->area.x1 - p->area.x0) / CELL);
    p->rows = (size_t)ceil((p->area.y1 - p->area.y0) / CELL);
    p->ink = ARENA_ARRAY(p->arena, unsigned char, p->columns * p->rows);
}

/* Index of a cell along one side, held inside. */
static size_t cell_of(double v, double from, size_t n)
{
    double c = floor((v - from) / CELL);
    return c <= 0.0 ? 0 : c >= (double)n ? n - 1 : (size_t)c;
}

static void add_ink(struct svg_plot *p, double x, double y, int weight)
{
    if (!(x >= p->area.x0 && x <= p->area.x1 && y >= p->area.y0 && y <= p->area.y1))
        return;
    unsigned char *ink =
        &p->ink[cell_of(y, p->area.y0, p->rows) * p->columns + cell_of(x, p->area.x0, p->columns)];
    int sum = *ink + weight;
    *ink = (unsigned char)(sum > INK_MOST ? INK_MOST : sum);
}

void svg_field_line(struct svg_plot *p, double x0, double y0, double x1, double y1, int weight)
{
    double length = hypot(x1 - x0, y1 - y0);
    if (!isfinite(length))
        return;
    int n = 1 + (int)(fmin(length, 4.0 * SVG_WIDTH) / CELL);
    for (int i = 0; i <= n; i++)
        add_ink(p, x0 + (x1 - x0) * i / n, y0 + (y1 - y0) * i / n, weight);
}

void svg_field_spot(struct svg_plot *p, double x, double y, double radius, int weight)
{
    int n = (int)floor(2.0 * radius / CELL);
    for (int i = 0; i <= n; i++)
        for (int k = 0; k <= n; k++)
            add_ink(p, x - radius + k * CELL, y - radius + i * CELL, weight);
}

bool svg_box_overlap(const struct svg_box *a, const struct svg_box *b)
{
    return a->x0 < b->x1 && b->x0 < a->x1 && a->y0 < b->y1 && b->y0 < a->y1;
}

bool svg_field_free(const struct svg_plot *p, const struct svg_box *b)
{
    if (!(b->x0 >= p->area.x0 && b->x1 <= p->area.x1 && b->y0 >= p->area.y0 && b->y1 <= p->area.y1))
        return false;
    struct svg_box wide = {b->x0 - BETWEEN, b->y0, b->x1 + BETWEEN, b->y1};
    for (size_t i = 0; i < p->n_boxes; i++)
        if (svg_box_overlap(&wide, &p->boxes[i]))
            return false;
    return true;
}

long svg_field_ink(const struct svg_plot *p, const struct svg_box *b)
{
    size_t c0 = cell_of(b->x0, p->area.x0, p->columns), c1 = cell_of(b->x1, p->area.x0, p->columns);
    /* the rims of a line of text are empty but for a few strokes */
    size_t r0 = cell_of(b->y0 + RIM, p->area.y0, p->rows);
    size_t r1 = cell_of(b->y1 - RIM, p->area.y0, p->rows);
    long sum = 0;
    for (size_t r = r0; r <= r1; r++)
        for (size_t c = c0; c <= c1; c++)
            sum += p->ink[r * p->columns + c];
    return sum;
}

void svg_field_take(struct svg_plot *p, const struct svg_box *b)
{
    *ARENA_PUSH(p->arena, p->boxes, p->n_boxes, p->cap_boxes) = *b;
}

struct svg_box svg_text_box(double x, double y, const char *s)
{
    return (struct svg_box){x, y - 0.82 * SVG_FONT, x + svg_text_width(s), y + 0.26 * SVG_FONT};
}

void svg_text_at(struct svg_plot *p, const char *kind, double x, double y, const char *s,
                 const char *full)
{
    struct svg_box b = svg_text_box(x, y, s);
    svg_field_take(p, &b);
    bool in_plot = b.y0 >= p->area.y0 && b.y1 <= p->area.y1;
    if (in_plot && svg_field_ink(p, &b) > 0) {
        text_add(p->out, "<rect class=\"halo\" fill=\"#fff\" fill-opacity=\"0.8\"");
        svg_add_attribute(p->out, "x", b.x0 - 1.0);
        svg_add_attribute(p->out, "y", b.y0);
        svg_add_attribute(p->out, "width", b.x1 - b.x0 + 2.0);
        svg_add_attribute(p->out, "height", b.y1 - b.y0);
        text_add(p->out, "/>\n");
    }
    text_addf(p->out, "<text class=\"%s\"", kind);
    svg_add_attribute(p->out, "x", x);
    svg_add_attribute(p->out, "y", y);
    text_add_char(p->out, '>');
    if (full != NULL && strcmp(full, s) != 0) {
        text_add(p->out, "<title>");
        svg_add_escaped(p->out, full);
        text_add(p->out, "</title>");
    }
    svg_add_escaped(p->out, s);
    text_add(p->out, "</text>\n");
}
