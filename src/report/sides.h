/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: what a study says as its shots were used, and beside it what it says on other
 * shots, as texts. */
#ifndef REPORT_SIDES_H
#define REPORT_SIDES_H

#include "plateau/report.h"

/* As used, with what was excluded, without what stands off. */
#define SIDES_MOST 3

struct sides_cell {
    const char *text;
    bool is_verdict;
    bool changed; /* another text than the first of its row */
    bool differs; /* changed, and for values with intervals: one lies outside the other's */
    enum verdict verdict;
};
struct sides_row {
    const char *name;
    bool changed, differs; /* one of its cells is, does */
    struct sides_cell *cells;
};
struct sides {
    const char **heads; /* of the cells: "as used", "with the excluded shot (line 14)" */
    size_t n;           /* cells in a row, at least two */
    struct sides_row *rows;
    size_t n_rows, cap_rows;
    size_t n_front;             /* of them verdicts and limits on settings */
    size_t n_changed, n_differ; /* cells */
};

/* Verdicts, limits on settings and quantities, in this order; false when there is nothing to set
 * beside them. */
bool sides_make(struct arena *a, const struct premises *p, const struct finding *f,
                struct sides *out);
/* What the mark before a cell means, its mark left to the caller; or that no cell has one. */
const char *sides_key(const struct sides *s);
/* The sentence on other shots, where the table above does not have them; else NULL. */
const char *sides_sentence(const struct finding *f, enum other_shots_kind which);

#endif
