/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Analysis of variance, and the imbalance of a mold that rests on it. */
#include <math.h>

#include "math/math_internal.h"
#include "plateau/math_anova.h"

#define FOLLOW_UPS 60

/* ---- sums -------------------------------------------------------------------------------------
 */

/* Neumaier's sum: what is lost in an addition is kept. */
struct sum {
    double value, lost;
};

static void sum_add(struct sum *s, double v)
{
    double t = s->value + v;
    s->lost += fabs(s->value) >= fabs(v) ? (s->value - t) + v : (v - t) + s->value;
    s->value = t;
}

static double sum_of(const struct sum *s)
{
    return s->value + s->lost;
}

/* ---- one way ----------------------------------------------------------------------------------
 */

static void finish_one_way(struct anova_one_way *o)
{
    double total = o->ss_between + o->ss_within;
    o->df_between = (double)o->groups - 1.0;
    o->df_within = (double)o->n - (double)o->groups;
    o->f = o->p = o->residual_sd = PL_NAN;
    o->r_squared = total > 0.0 ? o->ss_between / total : PL_NAN;
    if (!(o->df_within > 0.0))
        return;
    double within = o->ss_within / o->df_within;
    o->residual_sd = sqrt(within);
    if (!(o->df_between > 0.0) || !(total > 0.0))
        return;
    o->f = within > 0.0 ? o->ss_between / o->df_between / within : PL_INF;
    o->p = within > 0.0 ? math_f_tail(o->f, o->df_between, o->df_within) : 0.0;
}

void math_anova_one_way(struct arena *a, const double *y, const size_t *group, size_t n,
                        size_t groups, struct anova_one_way *out)
{
    struct sum *sum = ARENA_ARRAY(a, struct sum, groups);
    double *mean = ARENA_ARRAY(a, double, groups);
    size_t *count = ARENA_ARRAY(a, size_t, groups);
    struct sum all = {0}, within = {0}, between = {0};
    *out = (struct anova_one_way){.n = n};
    for (size_t i = 0; i < n; i++) {
        sum_add(&sum[group[i]], y[i] - y[0]);
        sum_add(&all, y[i] - y[0]);
        count[group[i]]++;
    }
    double overall = n > 0 ? sum_of(&all) / (double)n : 0.0;
    for (size_t g = 0; g < groups; g++) {
        if (count[g] == 0)
            continue;
        out->groups++;
        mean[g] = sum_of(&sum[g]) / (double)count[g];
        double off = mean[g] - overall;
        sum_add(&between, (double)count[g] * off * off);
    }
    for (size_t i = 0; i < n; i++) {
        double r = (y[i] - y[0]) - mean[group[i]];
        sum_add(&within, r * r);
    }
    out->ss_between = sum_of(&between);
    out->ss_within = sum_of(&within);
    finish_one_way(out);
}

/* ---- two ways, one observation each ------------------------------------------------------------
 */

static void two_way_means(const double *const *y, struct anova_two_way *o)
{
    double shift = y[0][0], rows = (double)o->rows, columns = (double)o->columns;
    struct sum all = {0};
    for (size_t i = 0; i < o->rows; i++) {
        struct sum s = {0};
        for (size_t j = 0; j < o->columns; j++)
            sum_add(&s, y[i][j] - shift);
        o->row_mean[i] = sum_of(&s) / columns;
        sum_add(&all, sum_of(&s));
    }
    for (size_t j = 0; j < o->columns; j++) {
        struct sum s = {0};
        for (size_t i = 0; i < o->rows; i++)
            sum_add(&s, y[i][j] - shift);
        o->column_mean[j] = sum_of(&s) / rows;
    }
    o->overall = sum_of(&all) / (rows * columns);
}

static double sum_of_squares(const double *v, size_t n, double around)
{
    struct sum s = {0};
    for (size_t i = 0; i < n; i++)
        sum_add(&s, (v[i] - around) * (v[i] - around));
    return sum_of(&s);
}

static void test_against_residual(double ss, double df, const struct anova_two_way *o, double *f,
                                  double *p)
{
    *f = *p = PL_NAN;
    if (!(df > 0.0) || !(o->df_residual > 0.0) || !(ss + o->ss_residual > 0.0))
        return;
    double mean_square = o->ss_residual / o->df_residual;
    *f = mean_square > 0.0 ? ss / df / mean_square : PL_INF;
    *p = mean_square > 0.0 ? math_f_tail(*f, df, o->df_residual) : 0.0;
}

void math_anova_two_way(struct arena *a, const double *const *y, size_t rows, size_t columns,
                        struct anova_two_way *out)
{
    *out = (struct anova_two_way){.rows = rows, .columns = columns};
    out->row_mean = ARENA_ARRAY(a, double, rows);
    out->column_mean = ARENA_ARRAY(a, double, columns);
    out->residual = ARENA_ARRAY(a, double, rows *columns);
    two_way_means(y, out); /* still shifted by the first observation */
    double shift = y[0][0];
    for (size_t i = 0; i < rows; i++)
        for (size_t j = 0; j < columns; j++)
            out->residual[i * columns + j] =
                ((y[i][j] - shift) - out->row_mean[i]) - (out->column_mean[j] - out->overall);
    out->ss_rows = (double)columns * sum_of_squares(out->row_mean, rows, out->overall);
    out->ss_columns = (double)rows * sum_of_squares(out->column_mean, columns, out->overall);
    out->ss_residual = sum_of_squares(out->residual, rows * columns, 0.0);
    out->df_rows = (double)rows - 1.0;
    out->df_columns = (double)columns - 1.0;
    out->df_residual = out->df_rows * out->df_columns;
    test_against_residual(out->ss_rows, out->df_rows, out, &out->f_rows, &out->p_rows);
    test_against_residual(out->ss_columns, out->df_columns, out, &out->f_columns, &out->p_columns);
    out->residual_sd = out->df_residual > 0.0 ? sqrt(out->ss_residual / out->df_residual) : PL_NAN;
    out->overall += shift;
    for (size_t i = 0; i < rows; i++)
        out->row_mean[i] += shift;
    for (size_t j = 0; j < columns; j++)
        out->column_mean[j] += shift;
}

bool math_anova_odd(const struct anova_two_way *t, double level, double least_variance,
                    struct anova_odd *out)
{
    size_t n = t->rows * t->columns, worst = 0;
    if (!(t->df_residual >= 2.0) || !(t->ss_residual > 0.0))
        return false;
    for (size_t i = 1; i < n; i++)
        if (fabs(t->residual[i]) > fabs(t->residual[worst]))
            worst = i;
    double r = t->residual[worst], left = t->df_residual / (double)n; /* 1 - leverage */
    double rest = (t->ss_residual - r * r / left) / (t->df_residual - 1.0);
    double variance = fmax(rest, least_variance), tail = 0.0; /* all others lie on the layout */
    if (variance > 1e-12 * t->ss_residual)
        tail = math_two_sided_p(r / sqrt(variance * left), t->df_residual - 1.0);
    *out = (struct anova_odd){.row = worst / t->columns,
                              .column = worst % t->columns,
                              .distance = r / left,
                              .p = fmin(1.0, (double)n * tail)};
    return out->p <= level;
}

bool math_anova_odd_column(const struct anova_two_way *t, double level, double least_variance,
                           struct anova_odd *out)
{
    double n = (double)t->columns, dof = t->df_rows * (n - 2.0), most = -1.0;
    if (!(dof > 0.0) || !(t->ss_residual > 0.0))
        return false;
    for (size_t j = 0; j < t->columns; j++) {
        struct sum ss = {0};
        size_t row = 0;
        for (size_t i = 0; i < t->rows; i++) {
            double r = t->residual[i * t->columns + j];
            sum_add(&ss, r * r);
            if (fabs(r) > fabs(t->residual[row * t->columns + j]))
                row = i;
        }
        if (!(sum_of(&ss) > most))
            continue;
        most = sum_of(&ss);
        out->row = row;
        out->column = j;
    }
    most *= n / (n - 1.0); /* what the residual sum loses without that column */
    double variance = fmax((t->ss_residual - most) / dof, least_variance), tail = 0.0;
    if (variance > 1e-12 * t->ss_residual)
        tail = math_f_tail(most / t->df_rows / variance, t->df_rows, dof);
    out->distance = t->residual[out->row * t->columns + out->column] * n / (n - 1.0);
    out->p = fmin(1.0, n * tail);
    return out->p <= level;
}

/* ---- imbalance ----------------------------------------------------------------------------------
 */

static double dof_of(const struct anova_two_way *t, size_t shots)
{
    return ((double)t->rows - 1.0) * ((double)shots - 1.0);
}

static double low_end(const struct anova_two_way *t, const struct imbalance *i, size_t shots,
                      double p)
{
    double q = math_range_quantile(p, t->rows, dof_of(t, shots));
    return fmax(0.0, i->range - q * i->s / sqrt((double)shots)) / i->largest;
}

static double high_end(const struct anova_two_way *t, const struct imbalance *i, size_t shots,
                       double p)
{
    double quantile = math_t_quantile(p, dof_of(t, shots));
    return (i->range + quantile * i->s * sqrt(2.0 / (double)shots)) / i->largest;
}

void math_imbalance(const struct anova_two_way *t, double step, double confidence,
                    struct imbalance *out)
{
    *out = (struct imbalance){
        .low = PL_NAN, .high = PL_NAN, .s = t->residual_sd, .dof = t->df_residual};
    for (size_t i = 1; i < t->rows; i++) {
        if (t->row_mean[i] > t->row_mean[out->heaviest])
            out->heaviest = i;
        if (t->row_mean[i] < t->row_mean[out->lightest])
            out->lightest = i;
    }
    out->largest = t->row_mean[out->heaviest];
    out->range = out->largest - t->row_mean[out->lightest];
    out->value = out->range / out->largest;
    if (!(t->df_residual > 0.0))
        return;
    double rounding = step / sqrt(12.0), p = 0.5 + confidence / 2.0;
    out->rounded = out->s < rounding;
    out->s = fmax(out->s, rounding);
    out->low = low_end(t, out, t->columns, p);
    out->high = high_end(t, out, t->columns, p);
}

/* Share of follow-ups of that many further shots that lie on one side of the limit. The means that
 * more shots would give lie around those there are, with what more shots would add to them. */
static double decided(const struct anova_two_way *t, const struct imbalance *i, double limit,
                      size_t more, double p)
{
    size_t shots = t->columns + more, hits = 0;
    double n = (double)t->columns, then = (double)shots;
    double q = math_range_quantile(p, t->rows, dof_of(t, shots)) / sqrt(then);
    double quantile = math_t_quantile(p, dof_of(t, shots)) * sqrt(2.0 / then);
    for (size_t k = 0; k < FOLLOW_UPS; k++) {
        double s = i->s * math_even_scale(k, 0, FOLLOW_UPS, i->dof);
        double moves = s * sqrt(1.0 / n - 1.0 / then), high = -PL_INF, low = PL_INF;
        for (size_t r = 0; r < t->rows; r++) {
            double mean = t->row_mean[r] + moves * math_even_normal(k, r + 1, FOLLOW_UPS);
            high = fmax(high, mean);
            low = fmin(low, mean);
        }
        double range = high - low, s_then = sqrt((n * i->s * i->s + (double)more * s * s) / then);
        hits += range + quantile * s_then <= limit * high || range - q * s_then > limit * high;
    }
    return (double)hits / FOLLOW_UPS;
}

int math_imbalance_shots(const struct anova_two_way *t, const struct imbalance *i, double limit,
                         double confidence)
{
    double p = 0.5 + confidence / 2.0;
    if (!(i->dof > 0.0))
        return -1;
    if (i->high <= limit || i->low > limit)
        return 0;
    size_t no = 0, yes = 0;
    while (math_shots(yes + 1) > 0)
        yes++;
    if (decided(t, i, limit, (size_t)math_shots(yes), p) < MATH_DECIDED)
        return -1;
    while (no < yes) {
        size_t middle = no + (yes - no) / 2;
        if (decided(t, i, limit, (size_t)math_shots(middle), p) >= MATH_DECIDED)
            yes = middle;
        else
            no = middle + 1;
    }
    return math_shots(yes);
}
