/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One figure as SVG. From top to bottom: the title (standalone only), the title of the y axis, the
 * flags of the vertical rules, the plot, the x axis, the strip of notes. */
#include <math.h>
#include <string.h>

#include "report/layout.h"
#include "report/svg.h"

#define EDGE 4.0
#define FONTS "system-ui, -apple-system, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"

/* ---- what is drawn ------------------------------------------------------------------------- */

static bool has_aim(const struct figure *f, bool vertical)
{
    for (size_t i = 0; i < f->n_rules; i++)
        if (f->rules[i].role == RULE_AIM && f->rules[i].vertical == vertical)
            return true;
    return false;
}

static void add_aim(struct svg_plot *p, const struct axis *axis, bool vertical,
                    const struct window *w)
{
    if (w == NULL || axis->setting == NULL || has_aim(p->figure, vertical))
        return;
    for (size_t i = 0; i < w->n_settings; i++) {
        const struct window_setting *s = &w->settings[i];
        if (strcmp(s->setting, axis->setting) != 0 || !isfinite(s->aim) ||
            s->dimension != axis->dimension)
            continue;
        const char *value = setting_text(p->arena, p->premises, s->setting, s->dimension, s->aim);
        p->rules[p->n_rules++] = (struct rule){.label = arena_printf(p->arena, "aim %s", value),
                                               .role = RULE_AIM,
                                               .vertical = vertical,
                                               .at = s->aim};
        return;
    }
}

static void collect_rules(struct svg_plot *p, const struct window *w)
{
    const struct figure *f = p->figure;
    p->rules = ARENA_ARRAY(p->arena, struct rule, f->n_rules + 2);
    for (size_t i = 0; i < f->n_rules; i++)
        if (isfinite(f->rules[i].at))
            p->rules[p->n_rules++] = f->rules[i];
    add_aim(p, &f->x, true, w);
    add_aim(p, &f->y, false, w);
}

/* ---- title --------------------------------------------------------------------------------- */

#define TITLE_LINES 3
#define TITLE_WIDTH (0.88 * SVG_WIDTH) /* bold runs wider */

/* Breaks the title at spaces; what does not fit into the last line is cut. */
static size_t title_lines(struct arena *a, const char *title, const char **lines)
{
    char *rest = arena_copy(a, layout_safe(a, title));
    size_t n = 0;
    while (*rest != '\0' && n < TITLE_LINES) {
        char *cut = NULL;
        if (n + 1 < TITLE_LINES && svg_text_width(rest) > TITLE_WIDTH)
            for (char *c = strchr(rest, ' '); c != NULL; c = strchr(c + 1, ' ')) {
                *c = '\0';
                bool fits = svg_text_width(rest) <= TITLE_WIDTH;
                *c = ' ';
                if (!fits)
                    break;
                cut = c;
            }
        if (cut != NULL)
            *cut = '\0';
        lines[n++] = svg_fitted(a, rest, TITLE_WIDTH);
        if (cut == NULL)
            break;
        rest = cut + 1;
    }
    return n;
}

static double draw_title(struct svg_plot *p, double y)
{
    const char *lines[TITLE_LINES];
    size_t n = title_lines(p->arena, p->figure->title, lines);
    for (size_t i = 0; i < n; i++) {
        y += SVG_LINE;
        text_add(p->out, "<g font-weight=\"bold\">");
        svg_text_at(p, "title", EDGE, y, lines[i], NULL);
        text_add(p->out, "</g>\n");
    }
    return n > 0 ? y + 0.5 * SVG_FONT : y;
}

/* ---- axes ---------------------------------------------------------------------------------- */

static void grid_line(struct svg_plot *p, double x0, double y0, double x1, double y1)
{
    text_add(p->out, "<line class=\"grid\"");
    svg_add_attribute(p->out, "x1", x0);
    svg_add_attribute(p->out, "y1", y0);
    svg_add_attribute(p->out, "x2", x1);
    svg_add_attribute(p->out, "y2", y1);
    text_add(p->out, "/>\n");
}

static void draw_grid(struct svg_plot *p)
{
    text_add(p->out, "<g stroke=\"" SVG_GRID "\" stroke-width=\"1\">\n");
    for (size_t i = 0; i < p->x.n_ticks; i++)
        grid_line(p, p->x.ticks[i].at, p->area.y0, p->x.ticks[i].at, p->area.y1);
    for (size_t i = 0; i < p->y.n_ticks; i++)
        grid_line(p, p->area.x0, p->y.ticks[i].at, p->area.x1, p->y.ticks[i].at);
    text_add(p->out, "</g>\n");
}

static void draw_frame(struct svg_plot *p)
{
    text_add(p->out, "<path class=\"frame\" fill=\"none\" stroke=\"" SVG_GREY
                     "\" stroke-width=\"1.2\" d=\"M");
    svg_add_coordinate(p->out, p->area.x0);
    text_add_char(p->out, ' ');
    svg_add_coordinate(p->out, p->area.y0);
    text_add(p->out, "V");
    svg_add_coordinate(p->out, p->area.y1);
    text_add(p->out, "H");
    svg_add_coordinate(p->out, p->area.x1);
    text_add(p->out, "\"/>\n");
}

static void draw_ticks(struct svg_plot *p)
{
    for (size_t i = 0; i < p->y.n_ticks; i++) {
        const struct svg_tick *t = &p->y.ticks[i];
        svg_text_at(p, "tick-y", p->area.x0 - 7.0 - svg_text_width(t->label),
                    t->at + 0.34 * SVG_FONT, t->label, NULL);
    }
    for (size_t i = 0; i < p->x.n_ticks; i++) {
        const struct svg_tick *t = &p->x.ticks[i];
        double width = svg_text_width(t->label);
        double x = fmin(t->at - width / 2.0, SVG_WIDTH - EDGE - width);
        svg_text_at(p, "tick-x", x, p->area.y1 + 1.45 * SVG_FONT, t->label, NULL);
    }
}

/* Both are centred on what they name, the y title above its axis so that nobody tilts the head. */
static void draw_axis_titles(struct svg_plot *p, double y_title)
{
    double room = SVG_WIDTH - 2.0 * EDGE;
    const char *y = svg_fitted(p->arena, p->y.title, room);
    svg_text_at(p, "title-y", EDGE, y_title, y, p->y.title);
    const char *x = svg_fitted(p->arena, p->x.title, room);
    double width = svg_text_width(x), at = (p->area.x0 + p->area.x1 - width) / 2.0;
    at = fmax(EDGE, fmin(at, SVG_WIDTH - EDGE - width));
    svg_text_at(p, "title-x", at, p->area.y1 + 2.7 * SVG_FONT, x, p->x.title);
}

static void no_data(struct svg_plot *p)
{
    const char *s = "No data to draw";
    svg_text_at(p, "no-data", (p->area.x0 + p->area.x1 - svg_text_width(s)) / 2.0,
                (p->area.y0 + p->area.y1) / 2.0, s, NULL);
}

/* ---- notes --------------------------------------------------------------------------------- */

#define SAMPLE_WIDTH 30.0

void svg_note_add(struct svg_plot *p, const struct svg_note *note)
{
    for (size_t i = 0; i < p->n_notes; i++) {
        const struct svg_note *n = &p->notes[i];
        if (n->sample == note->sample && n->style == note->style && n->series == note->series &&
            strcmp(n->text, note->text) == 0)
            return;
    }
    *ARENA_PUSH(p->arena, p->notes, p->n_notes, p->cap_notes) = *note;
}

/* Notes one after the other, in as many lines as they need. */
static double draw_notes(struct svg_plot *p, double y)
{
    double x = EDGE, bottom = y;
    for (size_t i = 0; i < p->n_notes; i++) {
        const struct svg_note *n = &p->notes[i];
        double before = n->sample == SAMPLE_NONE ? 0.0 : SAMPLE_WIDTH;
        const char *s = svg_fitted(p->arena, n->text, SVG_WIDTH - 2.0 * EDGE - before);
        double width = before + svg_text_width(s);
        if (i == 0 || x + width > SVG_WIDTH - EDGE) {
            bottom += 1.15 * SVG_LINE;
            x = EDGE;
        }
        svg_draw_sample(p, n, x, bottom - 0.3 * SVG_FONT);
        svg_text_at(p, "note", x + before, bottom, s, n->text);
        x += width + 16.0;
    }
    return bottom;
}

/* ---- the drawing --------------------------------------------------------------------------- */

/* Places of both scales and the rows of flags; `y` is where the flags may begin. */
static void lay_out(struct svg_plot *p, double y, struct svg_flag **flags, size_t *n_flags)
{
    const struct figure *f = p->figure;
    svg_scale_init(p->arena, &p->x, &f->x, p->premises, f, true, p->rules, p->n_rules);
    svg_scale_init(p->arena, &p->y, &f->y, p->premises, f, false, p->rules, p->n_rules);
    bool empty = p->x.empty || p->y.empty;
    p->x.empty = p->y.empty = empty;
    p->y.from = SVG_PLOT_HEIGHT;
    svg_scale_ticks(p->arena, &p->y, false);
    double widest = 0.0;
    for (size_t i = 0; i < p->y.n_ticks; i++)
        widest = fmax(widest, svg_text_width(p->y.ticks[i].label));
    p->area.x0 = EDGE + fmin(widest, SVG_WIDTH / 3.0) + 7.0;
    p->area.x1 = SVG_WIDTH - 16.0;
    p->x.from = p->area.x0;
    p->x.to = p->area.x1;
    svg_scale_ticks(p->arena, &p->x, true);
    int rows = empty ? 0 : svg_flags_place(p, flags, n_flags);
    p->area.y0 = y + 8.0 + rows * SVG_LINE;
    p->area.y1 = p->area.y0 + SVG_PLOT_HEIGHT;
    p->y.from = p->area.y1;
    p->y.to = p->area.y0;
    svg_scale_ticks(p->arena, &p->y, false);
    svg_field_init(p);
}

static void draw_inside(struct svg_plot *p, const struct svg_flag *flags, size_t n_flags)
{
    text_addf(p->out, "<g class=\"plot\" clip-path=\"url(#%s__clip)\">\n", p->id);
    svg_draw_regions(p);
    text_add(p->out, "</g>\n");
    draw_grid(p);
    text_addf(p->out, "<g class=\"plot\" clip-path=\"url(#%s__clip)\">\n", p->id);
    svg_draw_bands(p);
    svg_draw_curves(p);
    text_add(p->out, "</g>\n");
    svg_draw_horizontal_rules(p);
    svg_flags_draw(p, flags, n_flags);
    svg_dots_place(p);
    svg_draw_series(p);
}

/* Returns the height. */
static double draw(struct svg_plot *p, bool with_title)
{
    double y = with_title ? draw_title(p, 2.0) : 2.0;
    double y_title = y + 1.1 * SVG_FONT;
    struct svg_flag *flags = NULL;
    size_t n_flags = 0;
    lay_out(p, y_title + 4.0, &flags, &n_flags);
    svg_draw_patterns(p);
    if (!p->x.empty)
        draw_inside(p, flags, n_flags);
    draw_frame(p);
    draw_ticks(p);
    draw_axis_titles(p, y_title);
    if (p->x.empty)
        no_data(p);
    else
        svg_labels_draw(p);
    return draw_notes(p, p->area.y1 + 2.9 * SVG_FONT) + 0.5 * SVG_FONT;
}

static void open_svg(struct text *out, const struct figure *f, const char *id, double height,
                     bool standalone)
{
    if (standalone)
        text_add(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"960\"");
    else
        text_add(out, "<svg");
    if (standalone)
        svg_add_attribute(out, "height", 2.0 * height);
    text_addf(out, " viewBox=\"0 0 %d ", (int)SVG_WIDTH);
    svg_add_coordinate(out, height);
    text_addf(out,
              "\" id=\"%s\" role=\"img\" aria-labelledby=\"%s__title %s__desc\" "
              "font-family=\"" FONTS "\" font-size=\"%d\" fill=\"" SVG_INK "\">\n<title "
              "id=\"%s__title\">",
              id, id, id, (int)SVG_FONT, id);
    svg_add_escaped(out, f->title != NULL ? f->title : f->name);
    text_addf(out, "</title>\n<desc id=\"%s__desc\">", id);
    svg_add_escaped(out, f->description);
    text_add(out, "</desc>\n");
    if (standalone)
        text_add(out, "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n");
}

void report_svg(struct text *out, const struct figure *f, const struct premises *p,
                const struct window *window, bool standalone)
{
    struct text body;
    text_init(&body, out->arena);
    struct svg_plot plot = {.out = &body,
                            .arena = out->arena,
                            .figure = f,
                            .premises = p,
                            .id = svg_safe_id(out->arena, f->name)};
    collect_rules(&plot, window);
    double height = draw(&plot, standalone);
    open_svg(out, f, plot.id, height, standalone);
    text_add(out, body.s);
    text_add(out, "</svg>\n");
}
