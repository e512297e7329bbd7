/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Inside the room cli: the table of commands and options, and what the commands share. Help, the
 * completion and the tests of the manual page are made from, or checked against, this table. */
#ifndef PLATEAU_CLI_COMMANDS_H
#define PLATEAU_CLI_COMMANDS_H

#include "plateau/base.h"
#include "plateau/finding.h"
#include "plateau/read.h"
#include "plateau/report.h"
#include "plateau/study.h"
#include "plateau/window.h"

struct invocation;

struct option_spec {
    const char *name;  /* "--out" */
    const char *value; /* what stands behind it, "DIR"; NULL for a switch */
    const char *words; /* the only values it takes, "auto|always|never"; NULL: any */
    const char *purpose;
};

#define OPTIONS_MAX 8

struct command {
    const char *name;
    const char *argument; /* "PATH"; in brackets when it may stay out; NULL: takes none */
    const char *purpose;  /* one line */
    const char *details;  /* a paragraph */
    const struct option_spec *options;
    size_t n_options;
    int (*run)(struct invocation *inv); /* returns the exit status */
};

/* One command line, understood. */
struct invocation {
    struct arena *arena;
    FILE *out, *err;
    int out_errno; /* why a result could not be written; 0 when all were */
    const struct command *command;
    const char *argument;            /* NULL when it was left out */
    const char *values[OPTIONS_MAX]; /* as command->options; NULL not given, "" for a switch */
};

const struct command *command_all(size_t *n); /* alphabetical */
/* ERR_USAGE with the nearest name, or all of them. */
enum errc command_look_up(struct arena *a, const char *name, const struct command **out,
                          struct error *e) PL_MUST_CHECK;
/* "plateau analyze PATH [--out DIR] ..." */
const char *command_usage(struct arena *a, const struct command *c);

/* Fills `inv` from the words behind the program's name. ERR_USAGE with a sentence in `e`, or
 * *help = true when help on inv->command (NULL: on everything) is asked for. */
enum errc options_parse(struct invocation *inv, int argc, char **argv, bool *help,
                        struct error *e) PL_MUST_CHECK;
const char *options_value(const struct invocation *inv, const char *name);

/* The commands, one file each. */
int command_analyze(struct invocation *inv);
int command_check(struct invocation *inv);
int command_explain(struct invocation *inv);
int command_help(struct invocation *inv);
int command_new(struct invocation *inv);
int command_verify(struct invocation *inv);
/* What the criterion means, its default, and where the default comes from. */
const char *criterion_text(struct arena *a, const struct criterion_spec *c);
void help_overview(struct text *t, int width);
void help_command(struct text *t, const struct command *c, int width);

/* ---- terminal.c ----------------------------------------------------------------------------- */

/* Columns of `f`: COLUMNS where it is a number, else what the terminal says, else 80. */
int terminal_width(FILE *f);
/* `when` is auto, always, never or NULL (auto: on a terminal, unless NO_COLOR is set). */
bool terminal_color(FILE *f, const char *when);
struct terminal_style terminal_style(FILE *f, const char *when);
/* Words broken at spaces to `width` columns; every line begins with `indent` spaces except the
 * first, which the caller has begun at column `at`. Ends with a newline. */
void text_add_wrapped(struct text *t, const char *s, int at, int indent, int width);

/* Results go out this way and no other, so that the reason of a write error is known. */
void cli_print(struct invocation *inv, const struct text *t);
/* Says the error on inv->err and returns its exit status. */
int cli_fail(const struct invocation *inv, const struct error *e);
/* Harmless copy of what the user typed, for messages. */
const char *cli_quote(struct arena *a, const char *s);

/* ---- load.c, premises.c --------------------------------------------------------------------- */

/* A trial as it was read, with everything the outputs need of it. */
struct loaded {
    struct read_request request;
    struct trial trial;
    struct diag_list diags;
    struct premises premises;
};

/* Reads the trial the command names. What was found wrong is in out->diags; the return value
 * says only whether the path could be looked at. */
enum errc cli_load(struct invocation *inv, struct loaded *out, struct error *e) PL_MUST_CHECK;
/* The same for a path of our own choice. */
enum errc cli_load_path(struct invocation *inv, const char *path, struct loaded *out,
                        struct error *e) PL_MUST_CHECK;
/* Diagnostics on inv->err; with `quiet` errors only. */
void cli_say_problems(struct invocation *inv, const struct diag_list *diags, bool quiet);

/* Everything an analysis gives. `window` is inside, so the struct must not be copied. */
struct computed {
    struct window window;
    struct analysis analysis;
    struct text record;
};
enum errc cli_compute(struct arena *a, const struct loaded *l, struct computed *out,
                      struct error *e) PL_MUST_CHECK;
/* The report of an analysis, file by file: figures, record, page. */
#define RECORD_NAME "record.json"
#define PAGE_NAME "index.html"
struct output_file {
    const char *name;
    const char *bytes;
    size_t n;
};
size_t cli_report_files(struct arena *a, const struct computed *c, struct output_file **out);
/* Every key [criteria] may have, alphabetical, each once. */
const struct criterion_spec *cli_criteria(struct arena *a, size_t *n);
void premises_fill(struct arena *a, const struct trial *trial, struct premises *out);

/* ---- output.c ------------------------------------------------------------------------------- */

/* The report folder of a trial: PATH/report, or STEM-report beside a single file. */
const char *output_folder(struct arena *a, const struct trial *trial);
/* Makes the folder if need be and puts all files into it: all of them are written in full before
 * the first takes the place of an old one. Afterwards figures of an earlier analysis that this
 * one no longer has are removed. Analyses of one folder that run at once take turns here. */
enum errc output_write(struct arena *a, const char *folder, const struct output_file *files,
                       size_t n, struct error *e) PL_MUST_CHECK;
/* Names of the figures in `folder` that an analysis made and `files` does not have. */
const char **output_old_figures(struct arena *a, const char *folder,
                                const struct output_file *files, size_t n, size_t *n_old);
/* A new file; fails when there is one already. */
enum errc output_create(struct arena *a, const char *path, const char *bytes, size_t n,
                        struct error *e) PL_MUST_CHECK;
/* Makes the folder (not its parents), or finds that it is there. */
enum errc output_make_folder(struct arena *a, const char *path, struct error *e) PL_MUST_CHECK;
/* Files of a short trial made from the record at `path`, names without the folder. `mark` is the
 * decimal mark to write numbers with, "point" or "comma"; NULL: that of the record's files, and
 * *mark says it then, if they had one. */
enum errc new_lot_files(struct invocation *inv, const char *path, const char **mark,
                        struct output_file **out, size_t *n, struct error *e) PL_MUST_CHECK;
/* The section [approved] of its trial.ini. */
void new_approved_section(struct text *t, const struct analysis *from, const char *record,
                          const char *sha256);

/* ---- self_trial.c --------------------------------------------------------------------------- */

/* The record of the built-in trial, as it was when the program was built. */
struct record_bytes self_record(void);
/* Puts the trial into a new temporary folder; *folder is set as soon as there is one. */
enum errc self_trial_write(struct arena *a, const char **folder, struct error *e) PL_MUST_CHECK;
void self_trial_remove(struct arena *a, const char *folder);

/* ---- entry_table.c -------------------------------------------------------------------------- */

/* A blank entry table with its guidance, as `new` writes it. */
const char *entry_table_text(struct arena *a, const struct study *s);
/* Its parts, for a table with rows of its own: the line that names the separator; guidance,
 * wrapped; what the columns are, header and units; a row. */
struct entry_rows {
    const struct study *study;
    size_t cavities; /* more than one: a column for each where the study takes them */
};
struct entry_cell {
    const char *column, *text;
};
void entry_table_begin(struct text *t);
void entry_table_guidance(struct text *t, const char *sentence);
void entry_table_head(struct text *t, const struct entry_rows *r);
void entry_table_row(struct text *t, const struct entry_rows *r, const struct entry_cell *cells,
                     size_t n_cells);
/* The table with guidance lines as wide as the header, and in quotes where a comma or a quote
 * stands in them: what a spreadsheet opens in columns that guesses the separator from all lines. */
const char *entry_table_rectangle(struct arena *a, const char *table);

/* folder/name, without doubling the slash. */
const char *path_join(struct arena *a, const char *folder, const char *name);

#endif
