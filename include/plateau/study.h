/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * study: what a module under studies/ exports, and what all of them share. One const record per
 * study; everything else (help, synonyms, entry tables, explain texts, contract test) is made from
 * it.
 */
#ifndef PLATEAU_STUDY_H
#define PLATEAU_STUDY_H

#include "plateau/base.h"
#include "plateau/finding.h"
#include "plateau/math.h"
#include "plateau/read.h"

struct study {
    const char *name;    /* folder, file stem, record: "gate-freeze" */
    const char *title;   /* "Gate freeze" */
    const char *purpose; /* one line */
    enum study_question question;
    const char *method;  /* for the report: what is computed and after whom, a few sentences */
    const char *setting; /* the varied setting's column, "hold_time" */
    /* The column whose means the conditions of the finding are, for the shared flags; "*": the one
     * that the first condition's series names; NULL: they are not raised on it. */
    const char *measured;
    const struct column_spec *columns;
    size_t n_columns;
    const struct criterion_spec *criteria;
    size_t n_criteria;
    const struct flag_spec *flags;
    size_t n_flags;
    size_t least_conditions, least_shots; /* what the entry table asks for */
    /* Prints nothing, knows no output format, never reads another study's finding. The finding is
     * initialised; strings live in its arena. Fails only on ERR_INTERNAL, ERR_NUMERIC or on input
     * that cannot be a study at all (ERR_INPUT); "nothing to see" is a finding. */
    enum errc (*analyze)(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e);
    const char *entry_table; /* the text of <name>.csv, built in */
};

/* All studies, alphabetical; from studies.def. */
const struct study *const *study_all(size_t *n);
const struct study *study_find(const char *name);

/* ---- running a study --------------------------------------------------------------------------
 */

/* study->analyze, and then the flags that every study shares: on the rows of the table, on the
 * conditions the study found, and on the other tables of the trial (never on another study's
 * finding). Fails only where study->analyze does. The flags are notes and doubts, and no verdict
 * and no bound changes; but where a column cannot be in the unit that is written
 * (`unit-impossible`, a stop) the bounds are withdrawn. Where the author excluded rows, or shots
 * are flagged as odd, the finding gets the other answers too. */
enum errc study_run(const struct study *study, const struct trial *trial, const struct table *table,
                    struct finding *out, struct error *e) PL_MUST_CHECK;
/* The shared flags, alphabetical, for `explain`. */
const struct flag_spec *study_flags(size_t *n);

/* ---- runs of good shots ---- */

/* Good shots in a row, none bad, that show at this confidence that at least `share` are good: the
 * least n with share^n <= 1 - confidence (success-run theorem). */
size_t study_success_run(double share, double confidence);
/* The share that n good shots in a row show. */
double study_share_shown(size_t n, double confidence);

/* ---- what studies share: for the modules ------------------------------------------------------
 */

/* The shots that a study takes from its table: those that it analyzes, where it also says what it
 * leaves out and why; or those that it draws, with what the table's author left out. */
enum study_take { TAKE_ANALYZED, TAKE_DRAWN };
/* Whether a row is looked at; it may be unusable still. */
bool study_takes(const struct table_row *row, enum study_take take);
/* Row `row` is left out: for the reason `why` of the study, or for the row's own one where it is
 * not looked at. Noted for TAKE_ANALYZED only. */
void study_leave_out(struct finding *f, const struct table *t, size_t row, const char *why,
                     enum study_take take);
/* Why a study has no row to work on: what most of its rows were left out for, else `otherwise`. */
const char *study_no_rows(const struct finding *f, const char *otherwise);
/* Place of a row of the table. */
const char *study_file(const struct table *t, size_t row);
/* Names of the table's files into the finding. */
void study_note_files(struct finding *f, const struct table *t);
/* Grade of a code among a study's flags; FLAG_DOUBT when it is not there. */
enum flag_grade study_grade(const struct flag_spec *flags, size_t n, const char *code);
/* Parameters and covariance of a fit; `covariance` is that of the first parameters in rows of
 * `width` numbers. */
void study_model_parameters(struct model *m, size_t p, const char *const *parameter,
                            const double *value, const double *covariance, size_t width);
/* A family of curves as a model of the finding; `chosen` and `answer_dimension` are left to the
 * caller. */
struct model *study_note_family(struct finding *f, const char *series,
                                const struct family_fit *fit);

/* The verdict on the conditions beyond a plateau's start; none is shown without an answer. */
enum verdict study_plateau_verdict(const struct plateau_answer *r);
/* Shots of every condition that would decide a verdict not shown. Where no number does, but one of
 * the two ends of the flat part alone does: 0, and *sentence, which names the two, says so. */
int study_plateau_shots(struct arena *a, const struct math_blocks *blocks,
                        const struct plateau_options *options, const struct plateau_answer *r,
                        const char **sentence);

/* The shots of a study, as its blocks were made of them. */
struct study_shots {
    struct finding *finding;
    const struct table *table;
    const size_t *row; /* of the table, per shot */
    const double *y;
    const struct math_blocks *blocks;
    /* The same on another footing, such as scatter that grows with the reading (shares of the
     * condition's mean). A shot is odd when it is so on both, which holds the false-alarm rate
     * whichever is true. NULL: not asked. First shots are compared on it where it is given. */
    const double *relative;
    const struct math_blocks *relative_blocks;
    double step; /* of the readings: a shot that stands off by less is not odd */
    bool alike;  /* y is about the same at all settings: no shot fits another setting better */
    double least_first;      /* a smaller effect on first shots is not worth a doubt */
    size_t of;               /* how many quantities the study looks at so; the levels are shared */
    const char *const *name; /* of each group: "6 s", "runner" */
    const char *noun;        /* "condition", "stage" */
    const char *before;      /* before a name where it comes first: "", "stage " */
    const char *in;          /* "", " in pressure" */
    const char *more, *less; /* "more pressure", "less" */
    const char *verb;        /* "weighs", "takes" */
    /* Numbers with units; `first` of first shots. */
    const char *(*size)(const void *context, double distance);
    const char *(*first)(const void *context, double distance);
    const void *context;
};
/* Raises `outlier`, `stray-shot` (0.5 % a study, Bonferroni over its shots) and `first-shots` (0.5
 * %). Nothing is removed for them. */
void study_flag_shots(const struct study_shots *s);

/* Means of conditions around a fitted curve, in time order. */
struct study_curve {
    struct finding *finding;
    size_t m, p;            /* conditions, parameters of the curve */
    const double *residual; /* [m] */
    const double *weight;   /* [m] shots */
    const double *tangent;  /* [p * m] derivative of the curve by each parameter */
    double least_variance;  /* of a mean of one shot: its rounding */
    const char *file;       /* place of the last condition */
    long line;
    const char *measured, *setting; /* "weight", "hold time" */
    const char *(*size)(const void *context, double change);
    const void *context;
};
/* Raises `drift` where what the curve leaves moves with time (0.4 %). study_run looks at settings
 * that were run again; this finds a drift without them, where the order is mixed enough. */
void study_flag_trend(const struct study_curve *c);

#endif
