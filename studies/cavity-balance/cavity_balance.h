/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the files of this study. */
#ifndef CAVITY_BALANCE_H
#define CAVITY_BALANCE_H

#include "plateau/math.h"
#include "plateau/math_anova.h"
#include "plateau/study.h"

#define CAVITY_BALANCE_SHOTS 5 /* asked for; common practice, no published source */
#define CAVITY_BALANCE_FEW 3   /* fewer are flagged */

/* Complete shots at one fill. */
struct cavity_balance_level {
    double fill; /* mean of the shots, 1 = full part; NAN when the file does not tell */
    size_t n;
    size_t *row; /* row of the table, in time order */
    double **y;  /* [cavity][shot], g */
    struct anova_two_way t;
    struct imbalance i;
    struct anom m;
    double fullness; /* of the fullest cavity: of [mold] part_weight, else `fill`; NAN */
    bool packed;
};

struct cavity_balance_data {
    size_t cavities; /* that have a weight, by number */
    int *number;
    size_t *gaps; /* per cavity: shots without its weight */
    size_t shots; /* that were looked at, complete or not */
    size_t n;     /* complete ones */
    size_t n_levels;
    struct cavity_balance_level *level; /* fill rising */
    double step;                        /* of the weights */
    bool has_fill;
    int *empty; /* numbers of cavities with a column but no weight */
    size_t n_empty;
};

/* Sets of cavities whose melt takes the same turns. */
struct cavity_balance_paths {
    size_t n;    /* sets; 0: none given, or they do not fit the data */
    size_t *set; /* per cavity */
    const char **set_text;
    bool testable; /* two cavities in every set */
    struct anova_one_way r;
};

struct cavity_balance {
    const struct trial *trial;
    const struct table *table;
    struct finding *f;
    struct arena *a;
    double confidence, max, aim, part_weight;
    struct cavity_balance_data data;
    const struct cavity_balance_level *at; /* the level that decides; NULL: no shot */
    struct cavity_balance_paths paths;
    double trend, trend_low, trend_high; /* change of imbalance per 1 of fill; NAN */
    double trend_from, trend_to;         /* fills */
};

/* cavity_balance_data.c */
void cavity_balance_collect(const struct cavity_balance *b, enum study_take take,
                            struct cavity_balance_data *out);
/* The level that decides: still short, then at least two shots, then the fullest. */
const struct cavity_balance_level *cavity_balance_deciding(const struct cavity_balance_data *d);
const char *cavity_balance_file(const struct cavity_balance *b, size_t row);
void cavity_balance_compare_paths(struct cavity_balance *b);
void cavity_balance_find_trend(struct cavity_balance *b);

/* cavity_balance_words.c */
const char *cavity_balance_mass(const struct cavity_balance *b, double v, double half_width);
const char *cavity_balance_share(const struct cavity_balance *b, double v, double half_width);
const char *cavity_balance_span(const struct cavity_balance *b, double low, double high);
/* "at 95 % fill", or "" */
const char *cavity_balance_at_fill(const struct cavity_balance *b,
                                   const struct cavity_balance_level *l);
const char *cavity_balance_confidence(const struct cavity_balance *b);
void cavity_balance_decision(struct cavity_balance *b);
void cavity_balance_next_shots(struct cavity_balance *b);

/* cavity_balance_flags.c */
enum { CAVITY_BALANCE_FLAGS = 9 };
extern const struct flag_spec cavity_balance_flags[CAVITY_BALANCE_FLAGS];
void cavity_balance_raise_flags(struct cavity_balance *b);
struct flag *cavity_balance_flag(struct cavity_balance *b, const char *code, const char *file,
                                 long line, const char *text);

/* cavity_balance_tables.c */
void cavity_balance_conditions(struct cavity_balance *b);
void cavity_balance_tables(struct cavity_balance *b);
void cavity_balance_figure(struct cavity_balance *b);

#endif
