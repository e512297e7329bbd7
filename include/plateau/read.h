/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * read: bytes -> text -> records -> cells -> table; trial.ini -> facts; a folder -> trial.
 * The only room that includes <csv.h>. Knows base alone: what columns a study wants comes in
 * as data (struct column_spec), so a new study changes nothing here.
 */
#ifndef PLATEAU_READ_H
#define PLATEAU_READ_H

#include "plateau/base.h"

/* ---- what a study asks for ------------------------------------------------------------------ */

enum column_flags {
    COLUMN_REQUIRED = 1u << 0,
    COLUMN_PER_CAVITY = 1u << 1, /* long form (`cavity` + value) or wide form (`weight c1`, ...) */
    COLUMN_SETTING = 1u << 2,    /* the varied setting: merged-cell blanks are filled down */
    COLUMN_CONSTANT_LABEL = 1u << 3, /* text that groups rows (stage, run): filled down too */
    COLUMN_CENSORED = 1u << 4,       /* `<0.01` and `>200` are kept as censored */
    COLUMN_BASIS = 1u << 5,          /* a pressure that is hydraulic or melt; canonical is melt */
    COLUMN_INFORMS = 1u << 6 /* the study does without it: where its basis is not known it is left
                              * aside with a warning */
};

struct column_spec {
    const char *name;         /* "hold_time"; what [columns], messages and the record call it */
    const char *synonyms;     /* "pack time|packing time|holding time"; matched like headers */
    enum dimension dimension; /* DIM_TEXT: kept as text */
    unsigned flags;
    double low, high;    /* physical range in canonical units, ends included */
    const char *purpose; /* one line for `new`, `explain` and the manual */
};

/* Columns every study accepts; the reader adds them itself: shot, exclude, excluded_by, note,
 * defect, cavity. Studies do not list them. */
/* One of them by name, or NULL. */
const struct column_spec *read_common_column(const char *name);

/* One study as the reader sees it. */
struct study_input {
    const char *name; /* "gate-freeze" */
    const struct column_spec *columns;
    size_t n_columns;
};

/* ---- units ------------------------------------------------------------------------------------
 */

/* canonical = value * factor + offset */
struct unit {
    const char *spelling; /* as we print it: "bar", "degF", "s" */
    enum dimension dimension;
    double factor, offset;
};

/* The unit of a spelling (case rules documented in format.md), or NULL. When `ambiguous` is not
 * NULL and the spelling is one that must be refused ("tons"), *ambiguous is set to the question
 * to ask and NULL is returned. Degree signs, micro signs, superscripts and their mojibake are
 * understood. `length` bytes of `s` are read. */
const struct unit *unit_find(const char *s, size_t length, const char **ambiguous);
/* The accepted spellings of a dimension, for messages: "s, ms, min, h". */
const char *unit_accepted(enum dimension d);
/* Canonical to entered: (v - offset) / factor. */
double unit_from_canonical(const struct unit *u, double v);

/* ---- tables -----------------------------------------------------------------------------------
 */

enum cell_kind { CELL_MISSING, CELL_VALUE, CELL_BELOW, CELL_ABOVE, CELL_TEXT };

struct cell {
    enum cell_kind kind;
    /* Of a cavity that the author left out of a shot that stays (long form): the kind would be
     * this, and `value` holds it. Else CELL_MISSING. */
    enum cell_kind left_out;
    double value;     /* canonical unit; the limit of a censored one */
    const char *text; /* as in the file, trimmed (never NULL; "" when empty) */
    long line;        /* physical line it stands on */
    bool repaired;    /* something was changed or assumed to read it */
};

/* One column as the study sees it. A per-cavity column gives one table_column per cavity, in
 * long and wide form alike. */
struct table_column {
    const struct column_spec *spec;
    int cavity;              /* 0: no cavity (total, or a plain column) */
    const char *header;      /* as in the first file that has it */
    const struct unit *unit; /* the unit the data was entered in; NULL for text and counts */
    double step;             /* smallest step of its digits, canonical, without zeros at
                              * the end; 0 for text */
};

/* One shot. Long-form rows of one shot are joined; `line` is its first line. */
struct table_row {
    size_t source; /* index in table.sources */
    long line;
    double order;       /* time order: the shot number where given, else the position in the file */
    const char *shot;   /* "" when there is no shot column */
    bool excluded;      /* by the user, or left out by the reader (average row, missing reading) */
    const char *reason; /* why it is left out; NULL when it is not */
    bool by_user;
    const char *excluded_by, *note, *defect; /* "" when none; `ok`, `none`, `good`, `-` give "" */
    bool good;                               /* a word in `defect` says so: ok, none, good */
    struct cell *cells;                      /* one per table column */
};

struct repair { /* one kind of repair, assumption or remark, counted */
    const char *code, *text;
    const char *column; /* or NULL */
    size_t count;
    long lines[3];
};

/* One file as it was read: the block "How this file was read". */
struct source {
    const char *name; /* path relative to the trial folder, as the record prints it */
    const char *study;
    char sha256[65];
    size_t bytes;
    const char *encoding;  /* "UTF-8", "UTF-8 with byte order mark", "UTF-16LE", "Windows-1252" */
    const char *separator; /* "comma", "semicolon", "tab", "bar" */
    const char *decimal;   /* "point", "comma", "none seen" */
    const char *layout;    /* "one column", "long (cavity column)", "wide (a column per cavity)" */
    long header_line, units_line; /* 0: none */
    size_t rows_read, rows_used, rows_left_out;
    const char **preamble; /* rows above the header, harmless */
    size_t n_preamble;
    const char **unused; /* headers of columns nobody reads */
    size_t n_unused;
    struct repair *repairs;
    size_t n_repairs;
    /* the data as it stood, for the report: header cells, then per record its line and cells */
    const char **header_cells;
    size_t n_header_cells;
    struct raw_record {
        long line;
        const char **cells;
        size_t n_cells;
        bool left_out;
        const char *reason; /* or NULL */
        bool *repaired;     /* per cell; NULL: none */
    } * records;
    size_t n_records;
};

struct table {
    const char *study;
    struct source *sources;
    size_t n_sources;
    struct table_column *columns;
    size_t n_columns;
    struct table_row *rows; /* in time order */
    size_t n_rows;
    bool has_shot_numbers;
    int cavities; /* highest cavity number seen, 0 when none */
};

/* Index of the column of that name (and cavity; 0 for plain), or -1. */
int table_find(const struct table *t, const char *column, int cavity);
/* True when the row is used and every listed column holds a plain value. */
bool table_row_has(const struct table *t, size_t row, const int *columns, size_t n);

/* ---- a whole trial ------------------------------------------------------------------------------
 */

struct trial {
    const char *folder;  /* "" for a single file beside us */
    const char *path;    /* as given on the command line */
    bool single_file;    /* then trial.ini is not read */
    struct facts facts;  /* trial.ini and the defaults of the criteria */
    char ini_sha256[65]; /* "" when there is no trial.ini */
    size_t ini_bytes;
    struct table *tables; /* one per study that has files, alphabetical */
    size_t n_tables;
    /* Tables with errors, and the other files of their study: what could be read of them, for
     * people to look at. No number of them may be used. */
    struct table *refused;
    size_t n_refused;
    const char **unread; /* *.csv in the folder that no study reads */
    size_t n_unread;
    /* What people see: the unit of the first column of a dimension, or what [report] units asks
     * for. */
    struct display_unit display[DIM_N];
};

struct read_request {
    const struct study_input *studies; /* alphabetical */
    size_t n_studies;
    const struct criterion_spec *criteria; /* every key [criteria] may have */
    size_t n_criteria;
};

/* Reads a trial folder or a single CSV file. Every problem of every file lands in `diags`; the
 * return value is ERR_NONE when the path could be looked at, even if diags->errors > 0 (then the
 * tables must not be analyzed). ERR_READ: cannot open. ERR_INPUT: the stem of a single file names
 * no study. The strings of `out` live in `a`; `request` must outlive it. */
enum errc trial_load(struct arena *a, const char *path, const struct read_request *request,
                     struct trial *out, struct diag_list *diags, struct error *e) PL_MUST_CHECK;

/* Fills trial->display; trial_load does it last, tests that build a trial by hand call it. */
void trial_fill_display(struct arena *a, struct trial *trial);

/* One table from bytes in memory; what trial_load does for each file, for tests and fuzzers.
 * `name` is printed in messages. `facts` may be NULL. */
enum errc table_load_bytes(struct arena *a, const char *name, const void *bytes, size_t n_bytes,
                           const struct study_input *study, const struct facts *facts,
                           struct table *out, struct diag_list *diags,
                           struct error *e) PL_MUST_CHECK;

/* trial.ini from bytes in memory: facts with defaults of the criteria filled in. */
enum errc facts_load_bytes(struct arena *a, const char *name, const void *bytes, size_t n_bytes,
                           const struct read_request *request, struct facts *out,
                           struct diag_list *diags, struct error *e) PL_MUST_CHECK;

/* A whole regular file with the SHA-256 of these very bytes. ERR_READ with the system's reason. */
struct whole_file {
    const void *bytes;
    size_t n;
    char sha256[65];
};
enum errc read_whole_file(struct arena *a, const char *path, struct whole_file *out,
                          struct error *e) PL_MUST_CHECK;

/* Sections and keys of trial.ini for `new`, the manual and its tests, in the order a blank
 * trial.ini lists them. */
struct ini_key {
    const char *section, *key; /* key "*": any name ([dimensions], [columns], ...) */
    enum fact_kind kind;
    enum dimension dimension;
    double low, high;    /* allowed range, canonical */
    const char *example; /* "2200 bar" */
    const char *purpose;
};
const struct ini_key *ini_keys(size_t *n);

/* Every code of a diagnostic or repair of this room, for `explain`; each once, in no order. */
const struct code_text *read_codes(size_t *n);

#endif
