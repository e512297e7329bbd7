/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * finding: the waist of the house. A study turns its table into one finding; the window and the
 * report see findings and premises and nothing else. Data only: no prose layout, no file format.
 * Numbers are in canonical units; a number that is not there is NAN, with its reason beside it;
 * an interval open on a side is infinite there.
 */
#ifndef PLATEAU_FINDING_H
#define PLATEAU_FINDING_H

#include "plateau/base.h"

enum verdict { VERDICT_NONE, VERDICT_MET, VERDICT_NOT_SHOWN, VERDICT_NOT_MET };
const char *verdict_text(enum verdict v); /* "none", "met", "not shown", "not met" */
enum verdict verdict_worst(enum verdict a, enum verdict b);

enum flag_grade { FLAG_NOTE, FLAG_DOUBT, FLAG_STOP };
const char *flag_grade_text(enum flag_grade g);

/* What `explain` says of a flag; the studies and the window list theirs. */
struct flag_spec {
    const char *code;
    enum flag_grade grade;
    const char *meaning; /* what it means and why it matters */
    const char *remedy;  /* what to do at the press */
};

struct quantity {
    const char *name;  /* "freeze_time": fixed, documented, stable */
    const char *title; /* "gate freeze time" */
    enum dimension dimension;
    const char
        *unit; /* canonical; overrides the dimension's where it is compound ("g/s") or NULL */
    double value, low, high; /* NAN: none; +-INFINITY: open */
    double level;            /* 0.95; NAN without an interval */
    int sides;               /* 2 or 1 */
    const char *method;
    const char *reason; /* why there is no value; NULL when there is one */
};

/* More shots at the same settings are not expected to decide it; nothing tells the scatter yet. */
#define SHOTS_DECIDE_NOTHING (-1)
#define SHOTS_NOT_KNOWN (-2)

struct criterion {
    const char *name;  /* key of [criteria] */
    const char *title; /* "hold time to reach the plateau" */
    enum dimension dimension;
    const char *limit_wording; /* "0.1 % of plateau weight" */
    double limit;              /* canonical, what was compared against */
    double value, low, high;   /* what was compared */
    double level;
    int sides;
    char origin; /* 'C', 'O', 'S', or 'G' given in trial.ini */
    enum verdict verdict;
    const char *because; /* one sentence */
    int shots_to_decide; /* further shots per condition, as one more round, that decide it in three
                            of four cases; 0 decided; or one of the two below */
    bool own_verdict;    /* does not count in the study's verdict (imbalance_aim, ...) */
};

enum bound_side { BOUND_LOWER, BOUND_UPPER };
enum bound_grade { BOUND_LIMIT, BOUND_CONVENTION };

struct bound {
    const char *setting; /* "hold_time" */
    enum bound_side side;
    enum dimension dimension;
    double value;     /* the safe end: what the window uses */
    double low, high; /* both ends of the interval it comes from */
    enum bound_grade grade;
    const char *study, *model, *criterion;
    enum verdict verdict; /* of the criterion behind it */
    const char *because;  /* "weight is within 0.1 % of its plateau from here on" */
    size_t rows;          /* rows behind it */
};

struct flag {
    const char *code;
    enum flag_grade grade;
    const char *text; /* this instance, with numbers and units */
    const char *file; /* NULL when it has no place */
    long line;
};

/* One unit of the fit: a block of consecutive rows at one setting. */
struct condition {
    const char *series; /* "parts", "cavity 3", "runner" */
    double setting;     /* canonical unit of the study's varied setting */
    int block;          /* 1-based, in time order */
    size_t n;
    double mean, sd;                        /* sd NAN for one shot */
    double fitted, fitted_low, fitted_high; /* NAN without a fit */
    const char *left_out;                   /* reason, or NULL */
    const char *file;
    long first_line;
    /* Of `setting` and of mean, sd and fitted, for people; DIM_TEXT (0): those of the axes of the
     * first figure. */
    enum dimension setting_dimension, dimension;
};

#define MODEL_PARAMETERS_MAX 6
struct model {
    const char *name; /* "exponential" */
    const char *series;
    const char *formula;
    size_t n_parameters;
    const char *parameter[MODEL_PARAMETERS_MAX];
    double value[MODEL_PARAMETERS_MAX];
    double covariance[MODEL_PARAMETERS_MAX][MODEL_PARAMETERS_MAX];
    double residual_sd;     /* of rows */
    bool residual_relative; /* residual_sd is a fraction of the reading, not in its unit */
    double aicc, weight;    /* Akaike weight among all tried */
    double misfit;          /* largest lack of fit of a condition mean, in tolerances */
    double misfit_p;        /* lack-of-fit F test; NAN when it cannot be tested */
    int rank;
    double condition_number;
    const char *stop; /* why the search stopped */
    bool tried, in_play, chosen, plateau;
    double answer, answer_low, answer_high; /* this family's own answer (freeze time); NAN none */
    enum dimension answer_dimension; /* DIM_TEXT (0): that of the quantity with the same value */
};

struct next_shot {
    const char *setting;
    enum dimension dimension;
    double at; /* canonical */
    int shots;
    const char *series;
    const char *promise; /* "halves the bracket: 4.0 to 5.0 s becomes 0.5 s wide" */
    const char *why;
    double half_width_now, half_width_then; /* of the answer; NAN when not predicted */
};

/* ---- figures and tables as data ---------------------------------------------------------------
 */

enum axis_scale { AXIS_LINEAR, AXIS_LOG };
struct axis {
    const char *title;   /* without unit */
    const char *setting; /* setting this axis shows, so that the report can draw the aim; or NULL */
    enum dimension dimension;
    const char *unit; /* canonical unit when the dimension has none of its own, or NULL */
    enum axis_scale scale;
    double low, high; /* NAN: from the data */
};

/* A censored point: low -INFINITY says "at most y", arrow down; high INFINITY "at least y", arrow
 * up. */
enum series_role { SERIES_SHOTS, SERIES_MEANS, SERIES_EXCLUDED, SERIES_LIMITED, SERIES_CENSORED };
struct series {
    const char *label;
    enum series_role role;
    size_t n;
    const double *x, *y;
    const double *low, *high;       /* error bars, or NULL */
    const char *const *point_label; /* words beside the points, or NULL */
    int group;                      /* cavity etc.: lines of one group share a style; 0 none */
};

enum curve_role { CURVE_FIT, CURVE_CANDIDATE };
struct curve {
    const char *label;
    enum curve_role role;
    size_t n;
    const double *x, *y;
};
struct band { /* interval band */
    const char *label;
    size_t n;
    const double *x, *low, *high;
};

enum rule_role { RULE_BOUND, RULE_AIM, RULE_LIMIT, RULE_TOLERANCE, RULE_ESTIMATE };
struct rule { /* a labelled line across the figure */
    const char *label;
    enum rule_role role;
    bool vertical;
    double at;
};

enum region_role { REGION_CHOSEN, REGION_REJECTED, REGION_INTERVAL };
struct region { /* shaded; an infinite end means to the edge */
    const char *label;
    enum region_role role;
    double x_low, x_high, y_low, y_high;
};

struct figure {
    const char *name;        /* "gate-freeze-weight": file stem and id prefix */
    const char *title;       /* says the result where there is one */
    const char *description; /* for <desc>: what is shown, in words */
    struct axis x, y;
    struct series *series;
    size_t n_series;
    struct curve *curves;
    size_t n_curves;
    struct band *bands;
    size_t n_bands;
    struct rule *rules;
    size_t n_rules;
    struct region *regions;
    size_t n_regions;
    const char *beside; /* name of a figure to stand side by side with, or NULL */
};

struct data_column {
    const char *title;
    enum dimension dimension;
    const char *unit; /* or NULL */
    bool is_text;
    int digits; /* significant digits for people; 0: from the data */
    int toward; /* -1 or +1: the low or high end of an interval, shown no narrower than it is */
};
struct data_table {
    const char *name, *title;
    struct data_column *columns;
    size_t n_columns, n_rows;
    double *values;     /* n_rows * n_columns, NAN for none or text */
    const char **texts; /* n_rows * n_columns, NULL for numbers */
};

struct row_use { /* a row that was left out */
    const char *file;
    long line;
    const char *reason;
    bool by_user;
};

struct operating_value {
    const char *setting;
    enum dimension dimension;
    double low, high; /* equal for one value */
    const char *from; /* "column hold_pressure" or "[running]" */
};

/* The study's answer on other shots, beside its answer; nothing else is made of it. */
enum other_shots_kind { SHOTS_WITH_EXCLUDED, SHOTS_WITHOUT_ODD };
struct other_answer {
    enum other_shots_kind which;
    const char *title; /* "with the excluded shot (line 14)" */
    size_t shots;      /* that are used besides, or left out besides */
    size_t rows_used;
    const char *reason; /* why there is no such answer; NULL when there is one */
    enum verdict verdict;
    const char *decision;
    struct quantity *quantities;
    size_t n_quantities;
    struct criterion *criteria;
    size_t n_criteria;
    struct bound *bounds;
    size_t n_bounds;
};

struct finding {
    const char *study, *title;
    const char **files;
    size_t n_files;
    enum verdict verdict;
    const char *decision; /* one sentence: what to set and why, with numbers and units */
    struct quantity *quantities;
    size_t n_quantities, cap_quantities;
    struct criterion *criteria;
    size_t n_criteria, cap_criteria;
    struct condition *conditions;
    size_t n_conditions, cap_conditions;
    struct model *models;
    size_t n_models, cap_models;
    struct bound *bounds;
    size_t n_bounds, cap_bounds;
    struct flag *flags;
    size_t n_flags, cap_flags;
    struct next_shot *next_shots;
    size_t n_next_shots, cap_next_shots;
    struct figure *figures;
    size_t n_figures, cap_figures;
    struct data_table *tables;
    size_t n_tables, cap_tables;
    struct row_use *left_out;
    size_t n_left_out, cap_left_out;
    size_t rows_used;
    struct operating_value *operating_point;
    size_t n_operating_point, cap_operating_point;
    struct other_answer *other_answers;
    size_t n_other_answers, cap_other_answers;
    const char *with_excluded; /* what `other_answers` say, one sentence each; or NULL */
    const char *without_odd;
    struct arena *arena;
};

/* `study` and `title` are kept, not copied. */
void finding_init(struct finding *f, struct arena *a, const char *study, const char *title);
struct quantity *finding_quantity(struct finding *f, const char *name, const char *title,
                                  enum dimension d);
struct criterion *finding_criterion(struct finding *f, const char *name);
struct condition *finding_condition(struct finding *f);
struct model *finding_model(struct finding *f, const char *name);
struct bound *finding_bound(struct finding *f, const char *setting, enum bound_side side,
                            enum dimension d);
struct flag *finding_flag(struct finding *f, const char *code, enum flag_grade grade,
                          const char *file, long line, const char *fmt, ...) PL_PRINTF(6, 7);
struct next_shot *finding_next_shot(struct finding *f);
struct figure *finding_figure(struct finding *f, const char *name);
struct data_table *finding_table(struct finding *f, const char *name, const char *title,
                                 size_t n_columns, size_t n_rows);
void finding_left_out(struct finding *f, const char *file, long line, const char *reason,
                      bool by_user);
struct other_answer *finding_other_answer(struct finding *f, enum other_shots_kind which);
struct operating_value *finding_operating(struct finding *f, const char *setting, enum dimension d);
/* Flags that finding_finish raises for every study, for `explain`. */
const struct flag_spec *finding_flags(size_t *n);
/* Verdict = worst of the criteria that count; a stop flag withdraws the bounds and makes it at
 * most `not shown`; every number is rounded to 10 significant digits. Called once, last. */
void finding_finish(struct finding *f);
bool finding_has_flag(const struct finding *f, const char *code);
const struct quantity *finding_get(const struct finding *f, const char *name);

/* ---- premises: what window and report need of trial.ini and the files --------------------------
 */

struct premises_repair {
    const char *code, *text, *column; /* column may be NULL */
    size_t count;
    long lines[3];
};
struct premises_record {
    long line;
    const char **cells;
    size_t n_cells;
    bool left_out;
    const char *reason;
    const bool *repaired; /* per cell, or NULL */
};
struct premises_file {
    const char *name, *study; /* study "" for trial.ini */
    const char *sha256;
    size_t bytes;
    const char *encoding, *separator, *decimal, *layout;
    long header_line, units_line;
    bool refused; /* it has errors: nothing of it is analyzed */
    size_t rows_read, rows_used, rows_left_out;
    const char **preamble, **unused;
    size_t n_preamble, n_unused;
    const char **header;
    size_t n_header;
    const char *units; /* "hold_time s, weight g" */
    struct premises_repair *repairs;
    size_t n_repairs;
    struct premises_record *records;
    size_t n_records;
    struct row_use *excluded; /* by the user */
    size_t n_excluded;
};

/* Which question of the report a study answers. */
enum study_question {
    QUESTION_TRUST,  /* Can the figures be trusted? */
    QUESTION_MOLD,   /* Is the mold fit? */
    QUESTION_WINDOW, /* Where may the settings lie? */
    QUESTION_HOLDS   /* Does it hold? */
};

/* What the report says of a study of this version, whether it was run or not. */
struct premises_study {
    const char *name, *title, *method;
    enum study_question question;
};

struct premises {
    const struct facts *facts;
    const char *path; /* the trial as named on the command line; never in the record */
    bool single_file;
    double confidence;
    int resamples;
    unsigned long seed;
    struct display_unit display[DIM_N]; /* what people see; canonical where nothing was entered */
    struct premises_file *files;        /* trial.ini first, then by study and name */
    size_t n_files;
    const char **unread;
    size_t n_unread;
    const struct premises_study *studies; /* alphabetical */
    size_t n_studies;
    const char **cautions; /* sentences */
    size_t n_cautions;
};

/* ---- numbers in the unit people entered ------------------------------------------------------ */

/* The unit people see; never NULL, "" for plain numbers. */
struct display_unit value_unit(const struct premises *p, enum dimension d);
double value_shown(const struct premises *p, enum dimension d, double v);
/* With a fixed number of decimals, and the unit. `toward`: -1 rounds down, +1 up, 0 to nearest.
 * "-" when there is none, "open" when it is infinite. */
const char *value_fixed(struct arena *a, const struct premises *p, enum dimension d, double v,
                        int decimals, int toward);
/* As short as it can be with at most `digits` significant digits, and the unit. */
const char *value_short(struct arena *a, const struct premises *p, enum dimension d, double v,
                        int digits);
/* Decimals that show the press's step of this setting, as entered; -1 when the setting has none. */
int value_step_decimals(const struct premises *p, const char *setting, enum dimension d);
/* Decimals for an end of an interval: half its width shows two significant digits; three
 * significant digits of `v` when there is no interval. */
int value_interval_decimals(const struct premises *p, enum dimension d, double v, double low,
                            double high);
/* What to set, and what runs: to the press's step, else as short as three digits. */
const char *setting_text(struct arena *a, const struct premises *p, const char *setting,
                         enum dimension d, double v);
/* A limit as the press can keep it: to the press's step, else to the digits that the interval of
 * `from` (or NULL) bears, rounded to its safe side by `toward`. */
const char *setting_limit_text(struct arena *a, const struct premises *p, const char *setting,
                               enum dimension d, double v, const struct bound *from, int toward);

#endif
