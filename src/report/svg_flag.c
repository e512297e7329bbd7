/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Labels of vertical rules: flags in rows above the plot. The line of a rule reaches up to its
 * flag, so a flag may stand neither on another flag nor in the way of another rule's line. */
#include <math.h>
#include <stdlib.h>

#include "report/svg.h"

#define FLAG_GAP 5.0   /* between a line and its label */
#define FLAG_CLEAR 9.0 /* between a label and a line that is not its own */
#define FLAG_EDGE 4.0  /* of the drawing */
#define ROWS_MOST 12
/* So many flags are arranged in the best way; the sides of more are taken one after the other. */
#define ARRANGED_MOST 7

enum side { SIDE_RIGHT, SIDE_LEFT, SIDE_TOP };
#define SIDES 3

static bool overlap(const struct svg_flag *a, const struct svg_flag *b)
{
    return a->left < b->right + FLAG_GAP && b->left < a->right + FLAG_GAP;
}

/* The line of `f`, going up, would pass the label `other` or stand at its end. */
static bool meets(const struct svg_flag *f, const struct svg_flag *other)
{
    if (f->at < other->left - FLAG_CLEAR || f->at > other->right + FLAG_CLEAR || f == other)
        return false;
    if (other->left > other->at)
        return f->at > other->at + 0.01;
    return other->right > other->at || f->at < other->at - 0.01;
}

static bool row_fits(const struct svg_flag *flags, size_t n, const struct svg_flag *f, int row)
{
    for (size_t i = 0; i < n; i++) {
        const struct svg_flag *o = &flags[i];
        if (o->row == row && (overlap(f, o) || meets(f, o) || meets(o, f)))
            return false;
        /* our line passes the rows below ours, theirs the rows below theirs */
        if ((o->row >= 0 && o->row < row && meets(f, o)) || (o->row > row && meets(o, f)))
            return false;
    }
    return true;
}

static bool find_row(const struct svg_flag *flags, size_t n, struct svg_flag *f)
{
    for (f->row = 0; f->row < ROWS_MOST; f->row++)
        if (row_fits(flags, n, f, f->row))
            return true;
    f->row = -1;
    return false;
}

/* Hangs the label to one side of its line, or sets it on top, held inside the drawing. False where
 * the drawing ends before the label does. */
static bool hang(struct svg_flag *f, enum side side)
{
    double width = svg_text_width(f->text), most = SVG_WIDTH - FLAG_EDGE - width;
    f->left = side == SIDE_RIGHT  ? f->at + FLAG_GAP
              : side == SIDE_LEFT ? f->at - FLAG_GAP - width
                                  : fmax(FLAG_EDGE, fmin(f->at - width / 2.0, most));
    f->right = f->left + width;
    f->side = (int)side;
    return f->left >= FLAG_EDGE && f->left <= most;
}

/* Rows for given sides: lines that others' labels hang over come first, so that they stay lower.
 * Returns the cost, or -1 when two labels each hang over the other's line. */
static int arrange(struct svg_flag *flags, size_t n)
{
    struct svg_flag placed[ARRANGED_MOST];
    bool done[ARRANGED_MOST] = {false};
    int cost = 0;
    for (size_t m = 0; m < n; m++) {
        size_t next = n;
        for (size_t i = 0; i < n && next == n; i++) {
            bool free = !done[i];
            for (size_t k = 0; k < n && free; k++)
                free = k == i || done[k] || !meets(&flags[k], &flags[i]);
            if (free)
                next = i;
        }
        if (next == n || !find_row(placed, m, &flags[next]))
            return -1;
        done[next] = true;
        placed[m] = flags[next];
        cost += 4 * flags[next].row + (int)flags[next].side;
    }
    return cost;
}

/* Every choice of sides is tried; the fewest rows win, then labels to the right. */
static bool arrange_best(struct svg_flag *flags, size_t n)
{
    struct svg_flag best[ARRANGED_MOST] = {{0}};
    int least = -1;
    unsigned choices = 1;
    for (size_t i = 0; i < n; i++)
        choices *= SIDES;
    for (unsigned choice = 0; choice < choices; choice++) {
        bool inside = true;
        unsigned rest = choice;
        for (size_t i = 0; i < n && inside; i++, rest /= SIDES)
            inside = hang(&flags[i], (enum side)(rest % SIDES));
        int cost = inside ? arrange(flags, n) : -1;
        if (cost < 0 || (least >= 0 && cost >= least))
            continue;
        least = cost;
        for (size_t i = 0; i < n; i++)
            best[i] = flags[i];
    }
    for (size_t i = 0; i < n && least >= 0; i++)
        flags[i] = best[i];
    return least >= 0;
}

/* Right to left, each in the lowest row there is; what finds none is noted below the plot. */
static void arrange_in_turn(struct svg_plot *p, struct svg_flag *flags, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bool found = false;
        for (int side = 0; side < SIDES && !found; side++)
            found = hang(&flags[i], (enum side)side) && find_row(flags, i, &flags[i]);
        if (!found) {
            flags[i].row = -1;
            const struct rule *r = flags[i].rule;
            svg_note_add(p, &(struct svg_note){r->label, SAMPLE_RULE, (int)r->role, NULL});
        }
    }
}

static int rightmost_first(const void *va, const void *vb)
{
    const struct svg_flag *a = va, *b = vb;
    if (a->at != b->at)
        return a->at < b->at ? 1 : -1;
    return a->rule < b->rule ? 1 : -1;
}

int svg_flags_place(struct svg_plot *p, struct svg_flag **flags, size_t *n)
{
    struct svg_flag *f = ARENA_ARRAY(p->arena, struct svg_flag, p->n_rules);
    size_t m = 0, with_text = 0;
    for (int pass = 0; pass < 2; pass++) { /* lines without a word come last */
        for (size_t i = 0; i < p->n_rules; i++) {
            const struct rule *r = &p->rules[i];
            bool word = r->label != NULL && r->label[0] != '\0';
            /* a label longer than half the drawing would have room on no side of a middle line */
            if (r->vertical && svg_scale_inside(&p->x, r->at) && word == (pass == 0))
                f[m++] = (struct svg_flag){.rule = r,
                                           .text = svg_fitted(p->arena, r->label, 0.47 * SVG_WIDTH),
                                           .at = svg_scale_at(&p->x, r->at),
                                           .row = -1};
        }
        with_text = pass == 0 ? m : with_text;
    }
    if (with_text > 0)
        qsort(f, with_text, sizeof *f, rightmost_first);
    if (with_text > ARRANGED_MOST || !arrange_best(f, with_text))
        arrange_in_turn(p, f, with_text);
    int rows = 0;
    for (size_t i = 0; i < with_text; i++)
        rows = f[i].row + 1 > rows ? f[i].row + 1 : rows;
    *flags = f;
    *n = m;
    return rows;
}

void svg_flags_draw(struct svg_plot *p, const struct svg_flag *flags, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const struct svg_flag *f = &flags[i];
        double baseline = p->area.y0 - 5.0 - f->row * SVG_LINE;
        double top = baseline + (f->side == SIDE_TOP ? 0.3 : -0.75) * SVG_FONT;
        top = f->row < 0 ? p->area.y0 : top;
        text_addf(p->out, "<line class=\"rule-line\" %s", svg_rule_style(f->rule->role));
        svg_add_attribute(p->out, "x1", f->at);
        svg_add_attribute(p->out, "y1", p->area.y1);
        svg_add_attribute(p->out, "x2", f->at);
        svg_add_attribute(p->out, "y2", top);
        text_add(p->out, "/>\n");
        svg_field_line(p, f->at, p->area.y0, f->at, p->area.y1, 4);
        if (f->row >= 0)
            svg_text_at(p, "rule-label", f->left, baseline, f->text, f->rule->label);
    }
}
