/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Inside the room study: the shared flags, one file per kind of suspicion. */
#ifndef STUDY_INTERNAL_H
#define STUDY_INTERNAL_H

#include "plateau/study.h"

struct suspect {
    const struct study *study;
    const struct trial *trial;
    const struct table *table;
    struct finding *f; /* analyzed */
    struct arena *a;
    const char *measured; /* the column behind the conditions; NULL: none */
};

enum flag_grade suspect_grade(const char *code);
#define SUSPECT_RAISE(s, code, file, line, ...)                                                    \
    finding_flag((s)->f, (code), suspect_grade(code), (file), (line), __VA_ARGS__)

/* suspect_words.c */
/* "hold_time" -> "hold time" */
const char *suspect_name(const struct suspect *s, const char *column);
const char *suspect_value(const struct suspect *s, enum dimension d, double v, double half_width);
/* "a" or "b", "c" as the change points up or down */
const char *suspect_times(const struct suspect *s, double ratio);

/* suspect_conditions.c: the conditions of the finding, as far as they are used */
struct suspect_conditions {
    const struct condition **c; /* in time order */
    size_t n;
    bool in_time;  /* each is a block of its own */
    bool numbered; /* the varied setting is a quantity, and all have it */
    size_t *group; /* conditions of one setting share it; below n */
    size_t n_groups;
    double step; /* of the measured column's readings */
    enum dimension dimension, setting_dimension;
};
#define SUSPECT_CONDITIONS_MOST 500 /* more are no conditions: the work grows with their square */
/* False when there is nothing to look at. */
bool suspect_conditions(const struct suspect *s, struct suspect_conditions *out);
const char *suspect_condition_name(const struct suspect *s, const struct suspect_conditions *k,
                                   size_t i);

/* The checks. */
void suspect_repeated(struct suspect *s);                                   /* rows typed twice */
void suspect_order(struct suspect *s, const struct suspect_conditions *k);  /* order in time */
void suspect_spread(struct suspect *s, const struct suspect_conditions *k); /* unequal scatter */
void suspect_rows(struct suspect *s);   /* wrong units against rows of the same file */
void suspect_files(struct suspect *s);  /* wrong units against other files and trial.ini */
void suspect_weight(struct suspect *s); /* weights against the part weight of trial.ini */
/* study->analyze and the shared flags, without the other answers. */
enum errc study_analyze(const struct study *study, const struct trial *trial,
                        const struct table *table, struct finding *out, struct error *e);
/* What the study says with the shots that the author left out, and without those that are flagged
 * as odd. A study that refuses the other shots is no failure. */
enum errc study_other_answers(const struct suspect *s, struct error *e);

/* suspect_factors.c: factors that wrong units leave behind */
struct suspect_factor {
    const char *code;
    double factor;
    enum dimension dimension;
    const char *words; /* "psi typed as bar" */
};
/* The factors that can be told in a dimension; R only where trial.ini gives it. Returns how many.
 */
size_t suspect_factors(const struct suspect *s, enum dimension d, struct suspect_factor out[2]);
/* The factor nearest to the ratio or to one over it, within `within` of it (a factor above 1); NULL
 * when there is none. `also` gets another that fits too, or NULL. */
const struct suspect_factor *suspect_match(const struct suspect_factor *f, size_t n, double ratio,
                                           double within, const struct suspect_factor **also);

#endif
