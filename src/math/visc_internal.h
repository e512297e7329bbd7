/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the viscosity files of the math room. */
#ifndef VISC_INTERNAL_H
#define VISC_INTERNAL_H

#include "math/math_internal.h"
#include "plateau/math_viscosity.h"

#define VISC_IN_PLAY 7.0 /* AICc units */

/* The data of one problem, centred: x = ln g - center, y = ln P - y0, both of order one. */
struct visc_data {
    size_t m, n_rows, n_groups;
    const double *x, *y, *w;
    double x_low, x_high;       /* slowest, fastest */
    double low_half, high_half; /* how well these two are known: half-widths */
    double log_center, y0;
    double ss_within, floor_rows, floor_units;
    double confidence, disturbance, tolerance;
    size_t n_points;      /* distinct settings */
    const double *points; /* their x, sorted */
};

/* One curve family: y = height + curve(x; theta), curve(0) = 0. theta[0] = n, theta[1] the
 * logarithm of what bends the curve; the power law has theta[0] alone. */
size_t visc_theta(enum visc_model_id id);
void visc_theta_range(enum visc_model_id id, const struct visc_data *d, size_t k, double *low,
                      double *high);
double visc_curve(enum visc_model_id id, const double *theta, double x);
void visc_curve_gradient(enum visc_model_id id, const double *theta, double x, double *d);
/* d curve / dx: the index of the power law that touches the curve at x. */
double visc_curve_slope(enum visc_model_id id, const double *theta, double x);
const char *visc_name(enum visc_model_id id);
const char *visc_formula(enum visc_model_id id);
/* Scaled to the caller's units: value[3], names[3], jacobian[value][height, theta...]. */
void visc_unscale(enum visc_model_id id, const struct visc_data *d, double height,
                  const double *theta, double *value, const char **names, double jacobian[3][3]);

/* Weighted sum of squares with the height solved for, which goes to *height when not NULL. */
double visc_sum(const struct visc_data *d, enum visc_model_id id, const double *theta,
                double *height);
/* Least squares: scan, polish; fills everything of `out` but what compares models. */
void visc_fit_model(const struct visc_data *d, enum visc_model_id id, struct visc_fit *out);

/* Points of the parameter region, its edge included. */
struct visc_point {
    double theta[2];
    double height, height_half; /* height +- height_half is inside for this theta */
};
struct visc_region {
    const struct visc_data *data; /* weighed under its law */
    enum visc_model_id id;
    struct visc_point *point; /* the first one is the best fit */
    size_t n;
};
void visc_region_make(struct arena *a, const struct visc_data *d, const struct visc_fit *fit,
                      struct visc_region *out);

/* The line under one law, whatever the scatter says; its interval under that law alone. */
enum errc visc_line_under(struct arena *a, const struct visc_unit *u, size_t m,
                          const struct visc_options *o, enum visc_law law, struct visc_line *out,
                          struct error *e) PL_MUST_CHECK;
enum visc_law visc_other_law(enum visc_law law);

/* What visc_answer.regions holds. */
struct visc_regions {
    struct visc_data data, other; /* under the better law; under the other, where it is kept */
    struct visc_region region[2 * VISC_MODELS];
    size_t n;
    int best; /* index among them */
};

/* Knees as x of the curve. */
enum visc_knee_state visc_sensitivity(const struct visc_data *d, enum visc_model_id id,
                                      const double *theta, double *x);
/* Effect of the disturbance at x as a share of the fall over the range. */
double visc_effect(const struct visc_data *d, enum visc_model_id id, const double *theta, double x);
double visc_stick(const struct visc_data *d, enum visc_model_id id, const double *theta);
double visc_chord(const struct visc_data *d, enum visc_model_id id, const double *theta);
void visc_knees(const struct visc_regions *g, struct visc_answer *out);
/* Widens the knees by the settings around them where the best curve misfits. */
void visc_bracket(const struct visc_data *d, struct visc_answer *out);

#endif
