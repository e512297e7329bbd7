/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * summaries: averages, totals and the like below or between the shots. Counted as a shot, an
 * average makes every interval too narrow.
 */
#ifndef READ_SUMMARIES_H
#define READ_SUMMARIES_H

#include "reading.h"

/* What a row says of itself. */
enum summary {
    SUMMARY_MEAN,
    SUMMARY_SUM,
    SUMMARY_LEAST,
    SUMMARY_LARGEST,
    SUMMARY_MEDIAN,
    SUMMARY_SD,
    SUMMARY_RANGE,
    SUMMARY_COUNT,
    SUMMARY_OTHER
};

/* The column of the word that makes a row a summary, or -1; `kind` may be NULL. */
int summary_label(struct reading *r, const struct record *rec, enum summary *kind);
/* Gives every ROW_SUMMARY its reason, and compares its numbers with those of the rows above.
 * Refuses rows that have no label, and no shot number or setting of their own, but hold the means,
 * sums, extremes or scatters of the rows above. */
void summaries_check(struct reading *r);

#endif
