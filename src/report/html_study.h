/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to the page's part on the studies. */
#ifndef REPORT_HTML_STUDY_H
#define REPORT_HTML_STUDY_H

#include "report/html.h"

/* Unit of the readings of a series: said by its conditions, else by the first figure. */
struct display_unit html_reading_unit(struct html *g, const struct finding *f, const char *series);
void html_conditions(struct html *g, const struct finding *f);
void html_data_tables(struct html *g, const struct finding *f);

#endif
