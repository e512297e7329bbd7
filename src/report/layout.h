/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: words and numbers for a terminal. */
#ifndef REPORT_LAYOUT_H
#define REPORT_LAYOUT_H

#include "plateau/report.h"

#define LAYOUT_NARROWEST 20

enum layout_emphasis { LAYOUT_PLAIN, LAYOUT_BOLD, LAYOUT_DIM };

/* text_harmless of a whole string; NULL gives "". */
const char *layout_safe(struct arena *a, const char *s);
/* The name of a setting in words: "hold_time" gives "hold time"; harmless. */
const char *layout_words(struct arena *a, const char *name);

/* Breaks `s` at spaces into lines of at most `width` columns, the first of at most `first`; a word
 * longer than a line is broken. At least one line. */
size_t layout_lines(struct arena *a, const char *s, size_t first, size_t width,
                    const char *const **lines);
/* Adds a paragraph with a hanging indent: the first line stands `indent` columns in, the others
 * `hang`. Ends with a newline. Nothing is added for an empty text. */
void layout_paragraph(struct text *out, const char *s, int width, size_t indent, size_t hang);
/* The same with emphasis, which ends before the last line does. */
void layout_emphasized(struct text *out, enum layout_emphasis e, bool color, const char *s,
                       int width, size_t indent, size_t hang);
void layout_spaces(struct text *out, size_t n);

void layout_begin(struct text *out, enum layout_emphasis e, bool color);
void layout_end(struct text *out, enum layout_emphasis e, bool color);

#define LAYOUT_COLUMNS_MAX 8
struct layout_column {
    bool right;   /* numbers stand at the right */
    size_t width; /* filled by layout_fit */
    enum layout_emphasis emphasis;
};
/* Widths for `n_rows` rows of `n` cells so that a row fits; false when it cannot. */
bool layout_fit(struct arena *a, struct layout_column *columns, size_t n, const char *const *cells,
                size_t n_rows, size_t width);
/* One row, its cells broken into as many lines as they need. */
void layout_row(struct text *out, const struct layout_column *columns, size_t n,
                const char *const *cells, bool color);

/* What more shots would do for a criterion: a sentence behind a space, or "". */
const char *layout_more_shots(struct arena *a, const struct criterion *c);

/* ---- short_trial.c --------------------------------------------------------------------------- */

/* Of a short trial: whether the approved window holds. NULL: this is none. It is said at the top
 * and nowhere else. */
const struct criterion *layout_approved(const struct window *w);
bool layout_is_approved(const struct criterion *c);
/* A setting that was carried over and that no shot of a short trial tried. */
bool layout_not_tried(const struct window_setting *s);

#endif
