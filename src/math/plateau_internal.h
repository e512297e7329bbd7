/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef PLATEAU_INTERNAL_H
#define PLATEAU_INTERNAL_H

#include "math/math_internal.h"

/* One plateau problem: the caller's blocks and their scaled copy.
 * x = scaled x * x_scale; y = direction * scaled y * y_scale + y_shift. */
struct fit_frame {
    const struct math_blocks *blocks;
    double direction, step; /* step in the caller's unit */
    double x_scale, y_scale, y_shift;
    struct scaled scaled;
    double theta[FAMILY_N][2]; /* best, scaled; set where the family was tried */
    struct inner inner[FAMILY_N];
    double (*t)[6]; /* of rows, of block means, by the number of parameters; 0: not asked for yet */
};

void plateau_fit_all(struct fit_frame *k, struct family_fit fits[FAMILY_N]);

/* One plateau family alone; out->tried says whether it rises. */
void plateau_fit_one(struct fit_frame *k, enum family_id id, struct family_fit *out);

/* shape_gap and shape_shown. */
void plateau_shape(const struct fit_frame *k, struct plateau_answer *out);

/* A frame for these blocks, without fits. */
void plateau_frame(struct arena *a, const struct math_blocks *b, const struct plateau_options *o,
                   struct fit_frame *k);
/* Whether blocks like these are enough for a family of p parameters. */
bool plateau_enough(const struct math_blocks *b, size_t p);
/* rss, AICc and what else follows from the weighted residual sum of the block means. */
void plateau_note_sums(const struct fit_frame *k, struct family_fit *out, double s_means);
/* By how much the residual sum may exceed its least within the interval: the larger of the rows'
 * and the block means' criterion, in the caller's unit squared. */
double plateau_room(const struct fit_frame *k, const struct family_fit *f, double confidence);
/* The answer from fitted families: choice, intervals (unless they are there already), state. */
void plateau_conclude(const struct fit_frame *k, const struct plateau_options *options,
                      bool with_intervals, struct plateau_answer *out);
/* Derivatives of the curve by its parameters. */
void family_gradient(const struct family_fit *f, double x, double x_first, double d[5]);

/* The test on the conditions from `first` on: rise over their range with its 90 % interval,
 * verdict. `dof_fit` and `s_means`: of the best family, or dof 0. */
void plateau_rise_test(const struct fit_frame *k, struct plateau_answer *out, size_t first,
                       double s_means, double dof_fit);
/* Scatter: shot_sd, block_sd, revisit_sd. */
void plateau_scatter(const struct fit_frame *k, struct plateau_answer *out, double s_means,
                     double dof_fit);

/* Derivatives of the family's answer by its parameters (P first: 0 at fixed tolerance). */
void plateau_answer_gradient(const struct family_fit *f, double tolerance, double x_first,
                             double *d);

#endif
