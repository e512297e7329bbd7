/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fits every family to the block means and puts the results back into the caller's units. */
#include <math.h>

#include "math/plateau_internal.h"

#define LEAST_RELATIVE_SD 1e-13 /* of the spread: below it a fit is exact to rounding */

#define NONE_HELD 2 /* beyond the last theta */

struct basis_context {
    const struct family *family;
    double x0;
    size_t held; /* a theta kept at the end of its range, or NONE_HELD */
    double held_at;
};

static bool admissible(const struct family *f, const double *theta)
{
    bool positive = f->id == FAMILY_EXPONENTIAL || f->id == FAMILY_STRETCHED;
    if ((positive && !(theta[0] > 0.0)) || (f->n_theta == 2 && !(theta[1] > 0.0)))
        return false;
    return f->id != FAMILY_LOGISTIC || (theta[0] > -1.0 && theta[0] < 700.0);
}

static bool plateau_basis(double x, const double *theta, double *phi, double *dphi,
                          const void *context)
{
    const struct basis_context *c = context;
    double dg[2] = {0.0, 0.0}, full[2] = {0.0, 0.0};
    size_t nt = c->family->n_theta, free = 0, at[2] = {0, 0};
    for (size_t k = 0; k < nt; k++) {
        at[free] = k;
        full[k] = k == c->held ? c->held_at : theta[free++];
    }
    if (!admissible(c->family, full))
        return false;
    phi[0] = 1.0;
    phi[1] = -c->family->g(x, full, c->x0, dphi != NULL ? dg : NULL);
    if (dphi != NULL)
        for (size_t k = 0; k < free; k++) {
            dphi[k] = 0.0;
            dphi[free + k] = -dg[at[k]];
        }
    return true;
}

static bool stick_basis(double x, const double *theta, double *phi, double *dphi,
                        const void *context)
{
    const struct scaled *s = context;
    if (theta[0] <= s->knots[0] || theta[0] >= s->knots[s->n_knots - 1])
        return false;
    phi[0] = 1.0;
    phi[1] = x;
    phi[2] = x > theta[0] ? x - theta[0] : 0.0;
    if (dphi != NULL) {
        dphi[0] = dphi[1] = 0.0;
        dphi[2] = x > theta[0] ? -1.0 : 0.0;
    }
    return true;
}

static double least_row_variance(const struct fit_frame *k)
{
    double exact = LEAST_RELATIVE_SD * k->y_scale;
    return fmax(k->step * k->step / 12.0, exact * exact);
}

void plateau_note_sums(const struct fit_frame *k, struct family_fit *out, double s_means)
{
    double n = (double)k->blocks->n_rows, p = (double)out->p, sigmas = p + 1.0;
    out->rss_means = s_means;
    out->rss = s_means + k->blocks->sspe;
    out->residual_sd = sqrt(fmax(out->rss / (n - p), least_row_variance(k)));
    double mean = fmax(out->rss / n, least_row_variance(k));
    out->aicc = n * log(mean) + 2.0 * sigmas + 2.0 * sigmas * (sigmas + 1.0) / (n - sigmas - 1.0);
    double dof_fit = (double)k->blocks->n_groups - p;
    double dof_error = n - (double)k->blocks->n_blocks;
    out->misfit_p = NAN;
    if (dof_error > 0.0 && dof_fit > 0.0 && k->blocks->sspe > 0.0) {
        double dof_blocks = (double)k->blocks->n_blocks - p;
        out->misfit_p = math_f_tail(s_means / dof_blocks / (k->blocks->sspe / dof_error),
                                    dof_blocks, dof_error);
    }
}

static void copy_parameters(const struct fit_frame *k, const struct family *f,
                            const struct separable_fit *fit, const double *unit,
                            struct family_fit *out)
{
    double rows = out->residual_sd * out->residual_sd;
    double means = fit->sigma * k->y_scale;
    double ratio = means > 0.0 ? rows / (means * means) : 0.0;
    for (size_t a = 0; a < out->p; a++) {
        out->parameter[a] = f->parameter[a];
        out->value[a] = fit->parameter[a] * unit[a];
        for (size_t b = 0; b < out->p; b++)
            out->covariance[a][b] = fit->covariance[a][b] * unit[a] * unit[b] * ratio;
    }
    out->rank = fit->rank;
    out->condition_number = fit->condition_number;
    out->stop = fit->stop;
}

static void fit_flat(const struct fit_frame *k, const struct family *f, struct family_fit *out)
{
    const struct scaled *s = &k->scaled;
    double sum = 0.0;
    for (size_t i = 0; i < s->m; i++)
        sum += s->w[i] * (s->y[i] - s->y_mean) * (s->y[i] - s->y_mean);
    plateau_note_sums(k, out, sum * k->y_scale * k->y_scale);
    out->parameter[0] = f->parameter[0];
    out->value[0] = k->direction * s->y_mean * k->y_scale + k->y_shift;
    out->covariance[0][0] = out->residual_sd * out->residual_sd / s->w_sum;
    out->rank = 1;
    out->condition_number = 1.0;
    out->stop = "exact";
}

static void fit_line(const struct fit_frame *k, const struct family *f, struct family_fit *out)
{
    const struct scaled *s = &k->scaled;
    double xm = 0.0, sxx = 0.0, sxy = 0.0, rss = 0.0;
    for (size_t i = 0; i < s->m; i++)
        xm += s->w[i] * s->x[i] / s->w_sum;
    for (size_t i = 0; i < s->m; i++) {
        sxx += s->w[i] * (s->x[i] - xm) * (s->x[i] - xm);
        sxy += s->w[i] * (s->x[i] - xm) * (s->y[i] - s->y_mean);
    }
    double b = sxy / sxx;
    for (size_t i = 0; i < s->m; i++) {
        double r = s->y[i] - s->y_mean - b * (s->x[i] - xm);
        rss += s->w[i] * r * r;
    }
    plateau_note_sums(k, out, rss * k->y_scale * k->y_scale);
    double v = out->residual_sd * out->residual_sd, slope = b * k->y_scale / k->x_scale;
    double x_mean = xm * k->x_scale, var_slope = v / (sxx * k->x_scale * k->x_scale);
    out->parameter[0] = f->parameter[0];
    out->parameter[1] = f->parameter[1];
    out->value[1] = k->direction * slope;
    out->value[0] = k->direction * s->y_mean * k->y_scale + k->y_shift - out->value[1] * x_mean;
    out->covariance[1][1] = var_slope;
    out->covariance[0][0] = v / s->w_sum + var_slope * x_mean * x_mean;
    out->covariance[0][1] = out->covariance[1][0] = -var_slope * x_mean;
    out->rank = 2;
    out->condition_number = 1.0;
    out->stop = "exact";
}

static void fit_stick(const struct fit_frame *k, const struct family *f, struct family_fit *out)
{
    const struct scaled *s = &k->scaled;
    struct separable problem = {f->name, 3, 1, stick_basis, s};
    struct separable_range range = {s->knots[0] + 1e-3 * s->spacing,
                                    s->knots[s->n_knots - 1] - 1e-3 * s->spacing, false,
                                    8 * s->n_knots};
    struct separable_fit fit;
    struct error ignored = {.code = ERR_NONE};
    if (separable_fit_scan(&problem, &range, s->x, s->y, s->w, s->m, &fit, &ignored) != ERR_NONE) {
        out->tried = false;
        return;
    }
    plateau_note_sums(k, out, fit.rss * k->y_scale * k->y_scale);
    double y = k->direction * k->y_scale;
    double unit[4] = {y, y / k->x_scale, y / k->x_scale, k->x_scale};
    copy_parameters(k, f, &fit, unit, out);
    out->value[0] += k->y_shift;
}

/* Units of P, A and theta of a plateau family, scaled to the caller's. */
static void plateau_units(const struct fit_frame *k, const struct family *f, double unit[5])
{
    double y = k->direction * k->y_scale;
    unit[0] = y;
    unit[1] = f->id == FAMILY_LINEAR_PLATEAU      ? y / k->x_scale
              : f->id == FAMILY_QUADRATIC_PLATEAU ? y / (k->x_scale * k->x_scale)
                                                  : y;
    unit[2] = f->id == FAMILY_LOGISTIC ? 1.0 : k->x_scale;
    unit[3] = f->id == FAMILY_STRETCHED ? 1.0 : k->x_scale;
}

/* A polish that leaves the plausible range is no fit. */
static bool theta_in_range(const struct fit_frame *k, const struct family *f, const double *theta)
{
    double low[2], high[2];
    family_range(f, &k->scaled, low, high);
    for (size_t i = 0; i < f->n_theta; i++)
        if (!(theta[i] >= low[i] && theta[i] <= high[i]))
            return false;
    return true;
}

/* Fits P, A and the thetas that are not held, from theta; false when that leaves the plausible
 * range. The fit's parameters and covariance are put where the unheld ones stand. */
static bool polish_theta(const struct fit_frame *k, const struct family *f, size_t held,
                         double held_at, double theta[2], struct separable_fit *fit)
{
    const struct scaled *s = &k->scaled;
    struct inner in = {0};
    struct error ignored = {.code = ERR_NONE};
    struct basis_context context = {f, s->x0, held, held_at};
    size_t nt = held < f->n_theta ? f->n_theta - 1 : f->n_theta, free = 0;
    struct separable problem = {f->name, 2, nt, plateau_basis, &context};
    double full[2] = {theta[0], theta[1]};
    if (held < f->n_theta)
        full[held] = held_at;
    if (!family_inner(f, s, full, &in))
        return false;
    double start[4] = {in.p, in.a, 0.0, 0.0};
    for (size_t i = 0; i < f->n_theta; i++)
        if (i != held)
            start[2 + free++] = full[i];
    if (separable_fit_from(&problem, start, s->x, s->y, s->w, s->m, fit, &ignored) != ERR_NONE ||
        !(fit->parameter[1] > 0.0))
        return false;
    if (held == 0 && f->n_theta == 2) { /* one free theta, which is the second */
        fit->parameter[3] = fit->parameter[2];
        for (size_t i = 0; i < 4; i++)
            fit->covariance[i][3] = fit->covariance[3][i] = 0.0;
        for (size_t i = 0; i < 2; i++)
            fit->covariance[i][3] = fit->covariance[3][i] = fit->covariance[i][2];
        fit->covariance[3][3] = fit->covariance[2][2];
        for (size_t i = 0; i < 4; i++)
            fit->covariance[i][2] = fit->covariance[2][i] = 0.0;
    }
    if (held < f->n_theta)
        fit->parameter[2 + held] = held_at;
    if (!theta_in_range(k, f, fit->parameter + 2))
        return false;
    theta[0] = fit->parameter[2];
    theta[1] = f->n_theta == 2 ? fit->parameter[3] : 0.0;
    return true;
}

/* All thetas free, else one at an end of its range (the best such), else what the scan found. */
static void polish_plateau(const struct fit_frame *k, const struct family *f, double theta[2],
                           struct separable_fit *fit)
{
    double low[2], high[2], best[2] = {theta[0], theta[1]}, least = PL_INF;
    struct inner in = {0};
    if (polish_theta(k, f, NONE_HELD, 0.0, theta, fit))
        return;
    family_range(f, &k->scaled, low, high);
    for (size_t i = 0; f->n_theta == 2 && i < 4; i++) {
        double at[2] = {theta[0], theta[1]}, end = i % 2 == 0 ? low[i / 2] : high[i / 2];
        struct separable_fit held;
        if (polish_theta(k, f, i / 2, end, at, &held) && held.rss < least) {
            least = held.rss;
            best[0] = at[0];
            best[1] = at[1];
            *fit = held;
        }
    }
    family_inner(f, &k->scaled, theta, &in);
    if (least <= in.s0 * (1.0 + 1e-6)) {
        theta[0] = best[0];
        theta[1] = best[1];
        fit->stop = "end of the plausible range";
        return;
    }
    *fit = (struct separable_fit){.stop = "scan", .condition_number = PL_INF};
    fit->parameter[0] = in.p;
    fit->parameter[1] = in.a;
    fit->parameter[2] = theta[0];
    fit->parameter[3] = theta[1];
}

static void fit_plateau(struct fit_frame *k, const struct family *f, struct family_fit *out)
{
    double *theta = k->theta[f->id], s0, unit[5];
    struct separable_fit fit;
    if (!family_search(f, &k->scaled, theta, &s0)) {
        out->stop = "no rise to a plateau";
        out->tried = false;
        return;
    }
    polish_plateau(k, f, theta, &fit);
    struct inner in = {0};
    family_inner(f, &k->scaled, theta, &in);
    k->inner[f->id] = in;
    plateau_note_sums(k, out, in.s0 * k->y_scale * k->y_scale);
    plateau_units(k, f, unit);
    copy_parameters(k, f, &fit, unit, out);
    out->value[0] += k->y_shift;
    out->level = out->value[0];
    if (!f->smooth)
        out->start = out->value[2];
}

static size_t curve_parameters(enum family_id id)
{
    static const size_t p[FAMILY_N] = {1, 2, 3, 3, 3, 4, 4, 4};
    return p[id];
}

void plateau_fit_one(struct fit_frame *k, enum family_id id, struct family_fit *out)
{
    out->p = curve_parameters(id);
    out->tried = true;
    fit_plateau(k, family_of(id), out);
}

/* At least two more rows than parameters, sigma counted, and two more conditions. */
bool plateau_enough(const struct math_blocks *b, size_t p)
{
    return b->n_rows >= p + 3 && b->n_groups >= p + 2;
}

void plateau_fit_all(struct fit_frame *k, struct family_fit fits[FAMILY_N])
{
    for (enum family_id id = FAMILY_CONSTANT; id < FAMILY_N; id++) {
        const struct family *f = family_of(id);
        struct family_fit *out = &fits[id];
        *out = (struct family_fit){.id = id,
                                   .name = f->name,
                                   .formula = f->formula,
                                   .plateau = f->plateau,
                                   .p = curve_parameters(id),
                                   .aicc = NAN,
                                   .rss = NAN,
                                   .rss_means = NAN,
                                   .residual_sd = NAN,
                                   .misfit = NAN,
                                   .misfit_p = NAN,
                                   .condition_number = NAN,
                                   .answer = NAN,
                                   .answer_low = NAN,
                                   .answer_high = NAN,
                                   .start = NAN,
                                   .start_low = NAN,
                                   .start_high = NAN,
                                   .level = NAN,
                                   .level_low = NAN,
                                   .level_high = NAN,
                                   .stop = "not tried"};
        out->tried = plateau_enough(k->blocks, out->p);
        if (!out->tried)
            continue;
        if (f->plateau)
            fit_plateau(k, f, out);
        else if (id == FAMILY_CONSTANT)
            fit_flat(k, f, out);
        else if (id == FAMILY_LINE)
            fit_line(k, f, out);
        else
            fit_stick(k, f, out);
    }
}

double family_value(const struct family_fit *f, double x, double x_first)
{
    const double *v = f->value;
    switch (f->id) {
    case FAMILY_CONSTANT:
        return v[0];
    case FAMILY_LINE:
        return v[0] + v[1] * x;
    case FAMILY_BROKEN_STICK:
        return v[0] + v[1] * x + v[2] * fmax(0.0, x - v[3]);
    case FAMILY_LINEAR_PLATEAU:
    case FAMILY_QUADRATIC_PLATEAU:
    case FAMILY_EXPONENTIAL:
    case FAMILY_LOGISTIC:
    case FAMILY_STRETCHED:
    case FAMILY_N:
        break;
    }
    return v[0] - v[1] * family_of(f->id)->g(x, v + 2, x_first, NULL);
}

void family_gradient(const struct family_fit *f, double x, double x_first, double d[5])
{
    double dg[2] = {0.0, 0.0};
    for (size_t i = 0; i < 5; i++)
        d[i] = i == 0 ? 1.0 : 0.0;
    switch (f->id) {
    case FAMILY_CONSTANT:
        break;
    case FAMILY_LINE:
        d[1] = x;
        break;
    case FAMILY_BROKEN_STICK:
        d[1] = x;
        d[2] = fmax(0.0, x - f->value[3]);
        d[3] = x > f->value[3] ? -f->value[2] : 0.0;
        break;
    case FAMILY_LINEAR_PLATEAU:
    case FAMILY_QUADRATIC_PLATEAU:
    case FAMILY_EXPONENTIAL:
    case FAMILY_LOGISTIC:
    case FAMILY_STRETCHED:
    case FAMILY_N:
        d[1] = -family_of(f->id)->g(x, f->value + 2, x_first, dg);
        d[2] = -f->value[1] * dg[0];
        d[3] = -f->value[1] * dg[1];
        break;
    }
}

double family_value_se(const struct family_fit *f, double x, double x_first)
{
    double d[5], sum = 0.0;
    family_gradient(f, x, x_first, d);
    for (size_t a = 0; a < f->p; a++)
        for (size_t b = 0; b < f->p; b++)
            sum += d[a] * d[b] * f->covariance[a][b];
    return sum > 0.0 ? sqrt(sum) : 0.0;
}
