/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: the page for people. Everything that can come from a user goes through
 * html_text; what stands in the sources is added as it is. */
#ifndef REPORT_HTML_H
#define REPORT_HTML_H

#include "plateau/report.h"

struct html {
    struct text *out;
    struct arena *arena;
    const struct analysis *analysis;
    const struct premises *premises; /* may be NULL */
    const char *const *labels;       /* heads of the open table, if its cells carry them */
    size_t n_labels, column;
};

/* ---- markup ------------------------------------------------------------------------------- */

void html_raw(struct html *g, const char *markup);
void html_text(struct html *g, const char *s); /* escaped; NULL adds nothing */
/* <tag>text</tag> */
void html_element(struct html *g, const char *tag, const char *text);
/* A paragraph that ends with a full stop; nothing for an empty text. */
void html_sentence(struct html *g, const char *text);
/* The text with a full stop, not escaped. */
const char *html_full_stop(struct arena *a, const char *text);
const char *html_capital(struct arena *a, const char *text); /* for a title: no full stop */
bool html_is_empty(const char *s);

/* A table in a box of its own that scrolls. A head that begins with '#' is that of numbers. */
void html_table_open(struct html *g, const char *kind, const char *caption,
                     const char *const *heads, size_t n);
/* The same; on a narrow screen each row becomes a card, each cell with its head in front. */
void html_card_table_open(struct html *g, const char *kind, const char *caption,
                          const char *const *heads, size_t n);
void html_table_close(struct html *g);
void html_row_open(struct html *g, const char *kind); /* kind NULL: none */
void html_row_close(struct html *g);
void html_row_head(struct html *g, const char *text);
void html_cell(struct html *g, const char *text);
void html_cell_open(struct html *g, const char *kind);  /* kind NULL: none; "</td>" closes it */
void html_plain_cell(struct html *g, const char *text); /* short, never broken */
void html_number_cell(struct html *g, const char *text);
/* Verdict in a frame whose line says the same as the word. */
void html_verdict(struct html *g, enum verdict v, const char *words);

/* ---- numbers ------------------------------------------------------------------------------ */

/* Decimals so that half the interval shows two significant digits; -1 when there is none. */
int html_decimals(const struct display_unit *u, double v, double low, double high);
/* v with so many decimals, without a unit. */
const char *html_fixed(struct arena *a, double v, int decimals);
/* A canonical value as shown: with `decimals`, or as short as it can be when they are negative.
 * Without the unit; "-" when there is none. `step` is a difference: no offset. */
const char *html_number(struct arena *a, const struct display_unit *u, double v, int decimals);
const char *html_difference(struct arena *a, const struct display_unit *u, double v, int decimals);
/* The same with the unit. */
const char *html_amount(struct arena *a, const struct display_unit *u, double v, int decimals);
/* With at most `digits` significant digits. */
const char *html_rounded(struct arena *a, const struct display_unit *u, double v, int digits);
/* "5.10 to 5.80 s", "5.10 s and more", "at most 5.80 s", "" when there is none. */
const char *html_interval(struct arena *a, const struct display_unit *u, double low, double high,
                          int decimals);
/* "hold time (s)" */
const char *html_head(struct arena *a, const char *title, const struct display_unit *u);
/* "gate-freeze.csv:14", "" when there is no place. */
const char *html_place(struct arena *a, const char *file, long line);
/* "95 %" */
const char *html_percent(struct arena *a, double share);

/* Of a quantity without its interval: "none", a chance in two digits, the rest by `decimals`. */
const char *html_quantity_value(struct arena *a, const struct quantity *q,
                                const struct display_unit *u, int decimals);

/* ---- parts -------------------------------------------------------------------------------- */

extern const char html_style[], html_style_media[]; /* the page; narrow screens and paper */

void html_settings(struct html *g);   /* page one, without the identification */
void html_reasons(struct html *g);    /* why each setting is what it is; verdict of each study */
void html_not_proven(struct html *g); /* and which shots would prove it */
void html_evidence(struct html *g);
void html_raw_data(struct html *g);
void html_reading(struct html *g); /* how the files were read; criteria in force */
void html_cautions(struct html *g);
void html_methods(struct html *g);
void html_inputs(struct html *g);
void html_sign_off(struct html *g);

const char *html_title(const struct html *g); /* of the trial */
/* A sentence with the SHA-256 of the record; nothing when that is not known. */
void html_record_digest(struct html *g, const char *words);

#define HTML_QUESTIONS 4
extern const char *const html_questions[HTML_QUESTIONS];
/* NULL for a study the premises do not list. */
const struct premises_study *html_study_find(const struct html *g, const char *name);
/* "common practice, no published source", ... */
const char *html_origin(struct html *g, const char *criterion, char origin);

#endif
