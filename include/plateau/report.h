/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * report: findings + window + premises -> terminal text, record.json, SVG, HTML; and a record
 * back into findings. The only room that includes <jansson.h>. Writes into text, never to a
 * terminal; files are written whole or not at all.
 */
#ifndef PLATEAU_REPORT_H
#define PLATEAU_REPORT_H

#include "plateau/base.h"
#include "plateau/finding.h"
#include "plateau/window.h"

/* One whole analysis, as handed to every output. */
struct analysis {
    const struct premises *premises;
    const struct finding *findings; /* alphabetical by study */
    size_t n_findings;
    const struct window *window;
    const char *record_sha256; /* of the bytes of record.json; NULL: not known */
};

struct terminal_style {
    int width;               /* columns */
    bool color;              /* emphasis by bold and dim only; nothing is said by colour alone */
    const char *report_path; /* where the report was written, or NULL */
};

/* The answer for a terminal: window table, what is not shown or not met, flags with file:line,
 * what to run next, where the report is. */
void report_terminal(struct text *out, const struct analysis *a, const struct terminal_style *s);
/* Diagnostics like a good compiler's: place, what, the cell with a caret, how to mend it, code. */
void report_diagnostics(struct text *out, const struct diag_list *l,
                        const struct terminal_style *s);
/* `check`: how every file was read, repairs, exclusions, what would be analyzed. */
void report_reading(struct text *out, const struct premises *p, const struct terminal_style *s);

/* record.json, schema in docs/format.md; sorted keys; ends with a newline. */
enum errc report_record(struct text *out, const struct analysis *a, struct error *e) PL_MUST_CHECK;
/* A record read back: findings and window as far as the schema holds them. Errors located by
 * line. `name` is printed in messages. */
enum errc report_record_read(struct arena *arena, const char *name, const char *bytes, size_t n,
                             struct analysis *out, struct error *e) PL_MUST_CHECK;

/* What two records say differently: the window and the verdicts first, then criteria and
 * quantities, then the rest. Items of lists are set against those of the same name. Numbers that
 * differ by at most one unit in the tenth digit are counted in `rounding` and are no difference. */
struct record_bytes {
    const char *name; /* printed in messages */
    const char *bytes;
    size_t n;
};
struct record_difference {
    const char *where;          /* "studies[gate-freeze].quantities[freeze_time].value" */
    const char *recorded, *now; /* as JSON, shortened; "nothing" where one has no such value */
};
struct record_differences {
    struct record_difference *items;
    size_t n, rounding;
};
enum errc report_record_compare(struct arena *arena, const struct record_bytes *recorded,
                                const struct record_bytes *now, struct record_differences *out,
                                struct error *e) PL_MUST_CHECK;

/* One figure as a complete SVG document (standalone = true, with XML header) or as an element to
 * stand inside a page. Ids begin with `f->name`. The aim of the axis' setting is drawn when the
 * window has one; `window` may be NULL. */
void report_svg(struct text *out, const struct figure *f, const struct premises *p,
                const struct window *window, bool standalone);

/* report/index.html: one self-contained page without script or network; prints to A4 and Letter.
 * Page one is the setting page. Linear in the analysis. */
void report_html(struct text *out, const struct analysis *a);

/* A number in the unit people entered, with or without the unit: "5.8 s". */
const char *report_value(struct arena *a, const struct premises *p, enum dimension d, double v,
                         int digits);

/* Writes `n` bytes to folder/name: temporary name in the same folder, flushed, synced, renamed. */
enum errc report_write_file(const char *folder, const char *name, const char *bytes, size_t n,
                            struct error *e) PL_MUST_CHECK;

#endif
