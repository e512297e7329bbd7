/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reading: one file on its way from bytes to table; what the layers of the table reader share.
 *
 *   text_decode   bytes -> text
 *   dialect       separator, records, header row                        (dialect.c)
 *   columns       header cells -> columns, their units                  (columns.c, column_units.c)
 *   rows          what kind of row each record is                       (rows.c)
 *   decimal       the decimal mark of the file                          (decimal.c)
 *   cells         text -> typed cells                                   (cells.c)
 *   shots         rows of a shot joined, order in time, the table       (shots.c)
 *
 * Each layer adds what is wrong to `diags` and what it changed or assumed to `repairs`, and leaves
 * later ones something to go on with, so that all problems of a file are told at once.
 */
#ifndef READ_READING_H
#define READ_READING_H

#include "header.h"
#include "number.h"
#include "plateau/read.h"
#include "records.h"
#include "table.h"
#include "text_decode.h"

#define NO_RECORD ((size_t)-1)

enum row_kind {
    ROW_ABOVE, /* above the header, and the header itself */
    ROW_UNITS,
    ROW_BLANK,
    ROW_COMMENT,
    ROW_HEADER_AGAIN,
    ROW_SUMMARY, /* average, total, ... */
    ROW_FOOTER,
    ROW_BROKEN, /* an error was told */
    ROW_DATA
};

/* The digits of a column's numbers, canonical. */
struct digits {
    double typed;    /* smallest step as typed; 0: none */
    double told;     /* without zeros at the end */
    double value[3]; /* the first that differ, as typed */
    size_t n_values;
};

struct column {
    struct header_name head;
    const struct want *want; /* NULL: nobody reads it */
    const struct unit *unit; /* as entered: header, units row, [units] or the cells; NULL: none */
    const struct unit *use;  /* what makes canonical values of it; NULL where there is no unit */
    const char *unit_from;   /* where the unit stands, for messages */
    const struct unit *cell_unit, *cell_use; /* the last other unit seen in its cells */
    bool has_values;
    bool hopeless; /* an error was told: its cells are not looked at */
    bool empty;    /* no row has a value in it; told */
    bool judged;   /* a cell of its quantity was refused beside the other readings */
    struct digits digits;
};

struct row {
    enum row_kind kind;
    bool left_out; /* this record; reason says why */
    const char *reason;
    const char **filled; /* the cells with blanks filled down; NULL: as in the record */
    bool *repaired;      /* per cell; NULL: none */
};

struct reading {
    struct arena *arena;
    const char *name;
    const struct study_input *study;
    const struct facts *facts;
    const struct table_hint *hint;
    struct diag_list *diags;
    struct source *source;
    size_t cap_repairs;

    struct wants wants;
    struct decoded text;
    char separator;
    struct records records;
    long rows_above; /* of the sheet, above the first record: a line `sep=;` that it keeps */
    size_t header;   /* record; NO_RECORD: none */
    bool joined;     /* the header is this record and the next one */
    size_t units;    /* record of the units row, or NO_RECORD */
    size_t body;     /* first record behind the header */
    bool hash_ids;   /* every row below it starts with #: numbers of shots, not comments */
    struct column *columns;
    size_t n_columns;
    struct row *rows; /* one per record */
    enum decimal_mark mark;
    enum table_decimal_answer decimal; /* what the file itself says of it */
    /* where the mark is said: "on line 2 of the file", "under [files] in trial.ini"; NULL: nowhere
     */
    const char *mark_said;
    int cavity_column; /* long form; -1: none */
    size_t refused;    /* cells that were refused so far */
    size_t told;       /* complaints of which more than the count was kept */
};

/* ---- messages and repairs (messages.c) ------------------------------------------------------ */

struct complaint {
    enum severity severity; /* DIAG_ERROR is not 0: name it */
    const char *code, *column, *message, *expected, *remedy;
};
/* Where: a cell of a record; a whole record; the file. Places are worked out for the first three
 * of a kind only. */
void complain_cell(struct reading *r, const struct complaint *c, size_t record, size_t column);
void complain_line(struct reading *r, const struct complaint *c, size_t record);
void complain_bytes(struct reading *r, const struct complaint *c, long line, size_t start,
                    size_t at, size_t to);
void complain_file(struct reading *r, const struct complaint *c);
/* Counts a repair; line 0 counts without a place. `text` of the first of a kind is kept. */
void note_repair(struct reading *r, const char *code, const char *column, long line,
                 const char *text);
/* The same for a cell, which is marked. */
void note_cell(struct reading *r, const char *code, size_t record, size_t column, const char *text);

/* Text of cell k, blanks filled down; as it stands in the file. */
const char *row_cell(const struct reading *r, size_t record, size_t k);
/* A column of numbers that a study takes; the first of its quantity (there may be one a cavity). */
bool column_is_quantity(const struct column *c);
bool column_is_first(const struct reading *r, size_t k);
/* Whether v can be one of readings from `low` to `high`: not far off either end. */
bool is_among(double v, double low, double high);
/* "hold_time" of a column of ours, else its header. */
const char *column_name(const struct column *c);
/* A text cut to a length that fits a message, harmless; and the same in quotes, 'text'. */
const char *shortened(struct reading *r, const char *s);
const char *quoted(struct reading *r, const char *s);

/* [files] KEY, of this study before all; or NULL. */
const char *reading_files_fact(const struct reading *r, const char *key);
/* A cell of a header row, two rows joined where `joined`; how many there are. */
const char *reading_header_cell(const struct reading *r, size_t header, bool joined, size_t k);
size_t reading_header_width(const struct reading *r, size_t header, bool joined);
/* Shots as columns: the names stand below each other in the first column. */
bool reading_is_transposed(struct reading *r);
/* How many needed columns the header row names. */
size_t reading_count_required(struct reading *r);
/* "hold_time, weight" */
const char *reading_needed_names(const struct reading *r);
/* Index of the column with that role, or -1. */
int reading_role(const struct reading *r, enum role role);

/* ---- layers: false when nothing more can be read -------------------------------------------- */

bool dialect_choose(struct reading *r, struct error *e, enum errc *code);
bool dialect_find(struct reading *r, struct error *e, enum errc *code);
void columns_match(struct reading *r);
/* Names columns without a value. */
void columns_note_empty(struct reading *r);
void columns_find_units_row(struct reading *r);
void columns_settle_units(struct reading *r);
/* The unit in brackets behind the header, or in the units row, of a column that nobody reads: then
 * it holds something measured. NULL: none. */
const struct unit *column_unit_of_header(const struct reading *r, size_t column);
/* The factor that makes canonical values of a unit typed in this column, or NULL after an error:
 * cm3/s and % of speeds, hydraulic pressure. `record` NO_RECORD: it is the column's own unit. */
const struct unit *column_unit_use(struct reading *r, size_t column, const struct unit *u,
                                   size_t record);
bool rows_is_comment(const struct reading *r, size_t record);
void rows_classify(struct reading *r);
void rows_fill_down(struct reading *r);
void decimal_settle(struct reading *r);
/* Refuses cells that are among the other readings of their column in a second reading only. */
void out_of_line_check(struct reading *r);
/* Rows whose cells have moved by one (shifted.c). */
void shifted_check(struct reading *r);
/* Decimal commas that separate cells (torn.c). */
void torn_check(struct reading *r);
/* Decimal marks that a spreadsheet took for marks between thousands (lost_marks.c). */
void lost_marks_check(struct reading *r);
/* A file that ends inside its last number (cut_off.c). */
void cut_off_check(struct reading *r);
/* What spreadsheets do to names (labels.c). */
void labels_check(struct reading *r);
/* One typed cell; complains where it must. `excluded`: the user left the row out, so nothing in it
 * is an error. */
/* (a unit of that dimension, or one that a column of it takes: cm3/s and % for speeds) */
bool column_takes_unit(enum dimension asked, const struct unit *u);
struct cell cell_read(struct reading *r, size_t record, size_t column, bool excluded);
/* True when `s` holds a number and behind it nothing or a unit. */
bool cell_is_number(const char *s);
/* The step of a column's readings. A number format adds zeros at the end of all of them, and a
 * spreadsheet drops them when it saves the file: where the readings differ, they are no digits of
 * the instrument. One value that stands again and again may end in zero by itself. */
double digits_step(const struct digits *d);
void shots_build(struct reading *r, struct table *out);

#endif
