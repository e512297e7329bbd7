/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * records: text -> records -> cells. libcsv makes the cells; a scanner of ours finds where each
 * record ends, on which physical line, and what is wrong with its quotes, because libcsv knows no
 * positions. Both follow RFC 4180 in its strict reading and must agree on the number of cells.
 */
#ifndef READ_RECORDS_H
#define READ_RECORDS_H

#include "plateau/base.h"

enum record_fault {
    FAULT_NONE,
    FAULT_OPEN_QUOTE,       /* opened and never closed, or closed by the next quote far below */
    FAULT_TEXT_AFTER_QUOTE, /* "x"y */
    FAULT_BACKSLASH_QUOTE,  /* "x\"y" */
    FAULT_STRAY_QUOTE,      /* x"y */
    FAULT_CELL_TOO_LONG,
    FAULT_ROW_TOO_LONG
};

struct record {
    long line;          /* physical line it starts on, 1-based */
    size_t start, from; /* bytes: where that line starts, where the record starts (the same) */
    size_t to;          /* end, without the line end */
    const char **cells; /* trimmed; NULL when blank or broken */
    size_t n_cells;     /* 0: a blank line */
    long lines;         /* physical lines it spans; blank lines below each other are one record */
    long row;           /* of a spreadsheet, where every record and every blank line is one */
    bool odd_blanks;    /* no-break and other blanks of other sizes were trimmed off a cell */
    enum record_fault fault;
    long fault_line;
    size_t fault_at, fault_start; /* byte of the fault, start of its physical line */
};

struct records {
    struct record *items;
    size_t n, capacity;
    bool given_up; /* too many broken records: the rest was not looked at */
    bool too_many; /* more than LIMIT_RECORDS: the rest was not looked at */
};

/* Splits text[from..length) at `separator`; `line` is the number of the line at `from`. A line that
 * starts with `#` is one record whatever quotes it holds. libcsv is fed `chunk` bytes at a time (0:
 * a whole record); the result does not depend on it. Time and memory linear in the length. */
enum errc records_read(struct arena *a, const char *text, size_t length, size_t from, long line,
                       char separator, size_t chunk, struct records *out,
                       struct error *e) PL_MUST_CHECK;

/* Bytes of cell k (quotes included), the physical line it starts on and where that line starts. */
struct cell_span {
    size_t from, to, start;
    long line;
};
struct cell_span record_span(const char *text, const struct record *r, char separator, size_t k);

/* The cell's text; "" beyond the last one. */
const char *record_cell(const struct record *r, size_t k);
/* True when no cell holds anything. */
bool record_is_empty(const struct record *r);

#endif
