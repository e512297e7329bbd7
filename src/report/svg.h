/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: the SVG writer. A figure is laid out in a drawing SVG_WIDTH units wide; its
 * height follows from what has to be written. Every label keeps a box of its own: no two boxes
 * overlap, none leaves the drawing, and a label that finds no room in the plot goes into a strip
 * below it, with a sample of its mark. */
#ifndef REPORT_SVG_H
#define REPORT_SVG_H

#include "plateau/report.h"

/* At 360 pixels on a phone 15 units are 11 pixels, at 16 cm in print 14 points. */
#define SVG_WIDTH 480.0
#define SVG_FONT 15.0
#define SVG_LINE 18.0 /* height of a line of text */
#define SVG_PLOT_HEIGHT 250.0

/* One palette for everything: ink, one blue, greys. Shape and line style carry the meaning. */
#define SVG_INK "#1a1d21"
#define SVG_BLUE "#1f4e87"
#define SVG_GREY "#5c636b"
#define SVG_GRID "#dcdfe3"

/* ---- text ---------------------------------------------------------------------------------- */

/* Escaped for HTML and XML, harmless; NULL adds nothing. */
void svg_add_escaped(struct text *out, const char *s);
/* A name that can be an id: a letter first, then letters, digits, "-" and "_". */
const char *svg_safe_id(struct arena *a, const char *name);
/* The unit people see; `unit` overrides that of the dimension. Shares without a unit are shown in
 * percent. */
struct display_unit svg_unit(const struct premises *p, enum dimension d, const char *unit);
/* A number with two decimals. */
void svg_add_coordinate(struct text *out, double v);
/* ` name="12.30"` */
void svg_add_attribute(struct text *out, const char *name, double v);
/* Width of a text in units, by the advance widths of a wide sans; what a narrower font draws is
 * inside. */
double svg_text_width(const char *s);
/* `s` harmless, cut with an ellipsis to at most `width` units. */
const char *svg_fitted(struct arena *a, const char *s, double width);

/* ---- scales -------------------------------------------------------------------------------- */

struct svg_range {
    double low, high; /* low > high: nothing seen */
};
struct svg_tick {
    double at; /* in the drawing */
    const char *label;
};
struct svg_scale {
    bool log;
    double factor, offset; /* canonical = shown * factor + offset */
    double low, high;      /* shown; low < high */
    double from, to;       /* in the drawing */
    int exponent;          /* tick labels are shown / 10^exponent */
    const char *title;     /* with its unit */
    struct svg_tick *ticks;
    size_t n_ticks;
    bool whole; /* no ticks between whole numbers */
    bool empty; /* nothing to draw: no ticks */
};

/* Shown value, NAN where it is not finite or not on the scale. */
double svg_scale_shown(const struct svg_scale *s, double canonical);
/* Place in the drawing of a canonical value; infinite ones give the edge; NAN stays. Never more
 * than a drawing's width outside. */
double svg_scale_at(const struct svg_scale *s, double canonical);
bool svg_scale_inside(const struct svg_scale *s, double canonical);
/* Sets range and title. */
void svg_scale_init(struct arena *a, struct svg_scale *s, const struct axis *axis,
                    const struct premises *p, const struct figure *f, bool is_x,
                    const struct rule *rules, size_t n_rules);
/* Ticks between from and to, at 1-2-5 steps, their labels not closer than they are wide (or high).
 */
void svg_scale_ticks(struct arena *a, struct svg_scale *s, bool is_x);

/* ---- the field of a drawing ---------------------------------------------------------------- */

struct svg_box {
    double x0, y0, x1, y1;
};

struct svg_plot {
    struct text *out;
    struct arena *arena;
    const struct figure *figure;
    const struct premises *premises;
    const char *id; /* the figure's name, safe as an id */
    struct svg_scale x, y;
    struct svg_box area; /* of the plot */
    struct rule *rules;  /* the figure's and the aims */
    size_t n_rules;
    struct svg_box *boxes; /* of labels */
    size_t n_boxes, cap_boxes;
    unsigned char *ink; /* how much is drawn in each cell of the plot */
    size_t columns, rows;
    struct svg_note *notes; /* the strip below */
    size_t n_notes, cap_notes;
    struct svg_dot *dots;
    size_t n_dots;
};

/* What stands before a note. */
enum svg_sample {
    SAMPLE_NONE,
    SAMPLE_RULE,
    SAMPLE_CURVE,
    SAMPLE_BAND,
    SAMPLE_REGION,
    SAMPLE_POINT,
    SAMPLE_GROUP
};
struct svg_note {
    const char *text;
    enum svg_sample sample;
    int style;                   /* role of the rule, curve or region; group */
    const struct series *series; /* of a point */
};

/* A point as drawn: moved sideways where points coincide, at the edge where it lies far outside. */
struct svg_dot {
    double home, x, y; /* home: x before it was moved */
    const struct series *series;
    size_t index;
    bool outside;
};

void svg_field_init(struct svg_plot *p);
void svg_field_line(struct svg_plot *p, double x0, double y0, double x1, double y1, int weight);
void svg_field_spot(struct svg_plot *p, double x, double y, double radius, int weight);
/* No other label there, inside the plot. */
bool svg_field_free(const struct svg_plot *p, const struct svg_box *b);
/* What is drawn under the box. */
long svg_field_ink(const struct svg_plot *p, const struct svg_box *b);
void svg_field_take(struct svg_plot *p, const struct svg_box *b);
bool svg_box_overlap(const struct svg_box *a, const struct svg_box *b);

/* The box of a line of text that begins at x with its baseline at y. */
struct svg_box svg_text_box(double x, double y, const char *s);
/* Into the strip, once. */
void svg_note_add(struct svg_plot *p, const struct svg_note *note);

/* ---- parts --------------------------------------------------------------------------------- */

/* A line of text and its box; what is drawn under it is dimmed. `full` is the whole text, for where
 * `s` had to be cut. */
void svg_text_at(struct svg_plot *p, const char *kind, double x, double y, const char *s,
                 const char *full);

/* Where every shot is drawn; fills p->dots, grouped by place. Before labels are placed. */
void svg_dots_place(struct svg_plot *p);
void svg_draw_patterns(struct svg_plot *p);
void svg_draw_regions(struct svg_plot *p);
void svg_draw_bands(struct svg_plot *p);
void svg_draw_curves(struct svg_plot *p);
void svg_draw_horizontal_rules(struct svg_plot *p);
void svg_draw_series(struct svg_plot *p);
/* 24 units wide, from x on, around the height y. */
void svg_draw_sample(struct svg_plot *p, const struct svg_note *n, double x, double y);
/* The mark of a point, to stand in a group of the style below. */
void svg_draw_mark(struct text *out, const struct series *s, size_t i, double x, double y);
const char *svg_mark_style(enum series_role role);
/* The part of a region that lies in the plot; false when none does. */
bool svg_region_box(const struct svg_plot *p, const struct region *r, struct svg_box *b);
/* Attributes of a line. */
const char *svg_rule_style(enum rule_role role);
const char *svg_group_style(int group);

/* Labels of the vertical rules, in rows above the plot; the line reaches up to its label. */
struct svg_flag {
    const struct rule *rule;
    const char *text;
    double at;          /* of the line */
    double left, right; /* of the label */
    int row;            /* 0: next to the plot; -1: no label */
    int side;           /* right of its line, left of it, on top */
};
/* Needs the x scale only. Returns the number of rows. */
int svg_flags_place(struct svg_plot *p, struct svg_flag **flags, size_t *n);
/* Lines and labels; p->area is known. */
void svg_flags_draw(struct svg_plot *p, const struct svg_flag *flags, size_t n);
/* Labels inside the plot. */
void svg_labels_draw(struct svg_plot *p);

#endif
