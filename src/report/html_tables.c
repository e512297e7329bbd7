/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tables of a study: means of its conditions, and what it puts into tables of its own. */
#include <math.h>
#include <string.h>

#include "report/html.h"
#include "report/html_study.h"
#include "report/layout.h"
#include "report/svg.h"

/* ---- conditions ---------------------------------------------------------------------------- */

/* Of the readings: said by a condition of the same series, else by the first figure. */
struct display_unit html_reading_unit(struct html *g, const struct finding *f, const char *series)
{
    for (size_t i = 0; i < f->n_conditions; i++) {
        const struct condition *c = &f->conditions[i];
        bool same = series == NULL || c->series == NULL || strcmp(series, c->series) == 0;
        if (same && c->dimension != DIM_TEXT)
            return svg_unit(g->premises, c->dimension, NULL);
    }
    if (f->n_figures > 0)
        return svg_unit(g->premises, f->figures[0].y.dimension, f->figures[0].y.unit);
    return svg_unit(g->premises, DIM_COUNT, NULL);
}

static struct display_unit setting_unit(struct html *g, const struct finding *f,
                                        const struct condition *c)
{
    if (c->setting_dimension != DIM_TEXT)
        return svg_unit(g->premises, c->setting_dimension, NULL);
    if (f->n_figures > 0)
        return svg_unit(g->premises, f->figures[0].x.dimension, f->figures[0].x.unit);
    return svg_unit(g->premises, DIM_COUNT, NULL);
}

#define SCATTER_LEAST 1e-7 /* of the mean: below it an sd is the rounding of the arithmetic */

/* Decimals of the column: from the narrowest interval of a fit, else from the least sd. */
static int column_decimals(const struct condition *c, size_t n, const struct display_unit *u)
{
    double half = INFINITY, sd = INFINITY;
    for (size_t i = 0; i < n; i++) {
        double h = (c[i].fitted_high - c[i].fitted_low) / 2.0;
        half = isfinite(h) && h > 0.0 ? fmin(half, h) : half;
        bool scatters = isfinite(c[i].sd) && c[i].sd > SCATTER_LEAST * fabs(c[i].mean);
        sd = scatters ? fmin(sd, c[i].sd) : sd;
    }
    if (isfinite(half))
        return decimals_for(half / u->factor);
    return isfinite(sd) ? decimals_for(sd / u->factor) : -1;
}

/* What a table of conditions looks like. */
struct condition_view {
    struct display_unit x, y;
    int decimals;
    bool fitted; /* some condition has a fitted value */
    bool places; /* the setting only counts what the series names: stages in the order of flow */
};

static void fitted_cells(struct html *g, const struct condition *c, const struct condition_view *v)
{
    const struct display_unit *y = &v->y;
    html_number_cell(g, html_number(g->arena, y, c->fitted, v->decimals));
    html_plain_cell(g, isfinite(c->fitted_low) && isfinite(c->fitted_high)
                           ? arena_printf(g->arena, "%s to %s",
                                          html_number(g->arena, y, c->fitted_low, v->decimals),
                                          html_number(g->arena, y, c->fitted_high, v->decimals))
                           : "");
    html_number_cell(g, html_difference(g->arena, y, c->mean - c->fitted, v->decimals));
}

static void condition_row(struct html *g, const struct condition *c, const struct condition_view *v)
{
    const char *place = html_place(g->arena, c->file, c->first_line);
    html_row_open(g, NULL);
    html_row_head(g, html_is_empty(c->series) ? "all" : c->series);
    if (!v->places)
        html_number_cell(g, html_number(g->arena, &v->x, c->setting, -1));
    html_number_cell(g, arena_printf(g->arena, "%d", c->block));
    html_number_cell(g, arena_printf(g->arena, "%zu", c->n));
    html_number_cell(g, html_number(g->arena, &v->y, c->mean, v->decimals));
    html_number_cell(
        g, html_difference(g->arena, &v->y, c->sd, v->decimals < 0 ? -1 : v->decimals + 1));
    if (v->fitted)
        fitted_cells(g, c, v);
    html_cell(g, c->left_out == NULL
                     ? place
                     : arena_printf(g->arena, "%s; left out: %s", place, c->left_out));
    html_row_close(g);
}

static bool names_every_setting(const struct condition *c, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (html_is_empty(c[i].series))
            return false;
    return true;
}

static void condition_table(struct html *g, const struct finding *f, const struct condition *c,
                            size_t n)
{
    struct condition_view v = {.x = setting_unit(g, f, c), .y = html_reading_unit(g, f, c->series)};
    v.decimals = column_decimals(c, n, &v.y);
    v.places = c->setting_dimension == DIM_COUNT && names_every_setting(c, n);
    for (size_t i = 0; i < n; i++)
        v.fitted = v.fitted || isfinite(c[i].fitted);
    bool axis = f->n_figures > 0 && !html_is_empty(f->figures[0].x.title);
    const char *setting =
        axis && c->setting_dimension == DIM_TEXT ? f->figures[0].x.title : "setting";
    const char *heads[10] = {v.places && axis ? f->figures[0].x.title : "Series"};
    size_t k = 1;
    if (!v.places)
        heads[k++] = html_head(g->arena, setting, &v.x);
    heads[k++] = "#Block";
    heads[k++] = "#Shots";
    heads[k++] = html_head(g->arena, "mean", &v.y);
    heads[k++] = html_head(g->arena, "sd", &v.y);
    if (v.fitted) {
        heads[k++] = html_head(g->arena, "fitted", &v.y);
        heads[k++] = v.y.name[0] != '\0'
                         ? arena_printf(g->arena, "interval of the fit (%s)", v.y.name)
                         : "interval of the fit";
        heads[k++] = html_head(g->arena, "residual", &v.y);
    }
    heads[k++] = "First row";
    html_table_open(g, "conditions", v.fitted ? "Conditions: means and fit" : "Conditions: means",
                    heads, k);
    for (size_t i = 0; i < n; i++)
        condition_row(g, &c[i], &v);
    html_table_close(g);
}

/* One table per run of conditions with the same units. */
void html_conditions(struct html *g, const struct finding *f)
{
    for (size_t i = 0, j; i < f->n_conditions; i = j) {
        const struct condition *c = &f->conditions[i];
        for (j = i + 1;
             j < f->n_conditions && f->conditions[j].setting_dimension == c->setting_dimension &&
             f->conditions[j].dimension == c->dimension;
             j++)
            ;
        condition_table(g, f, c, j - i);
    }
}

/* ---- the study's own tables ------------------------------------------------------------------ */

#define SPARE_DIGITS 1 /* more than the column asks for, so that decimals stand in line */

/* Decimals of a cell with so many significant digits; below 0: tens, hundreds. */
static int cell_decimals(double shown, int digits)
{
    return digits - 1 - (int)floor(log10(fabs(shown)));
}

/* Decimals of a column whose cells stand in line: as many as its least cell needs, where its
 * greatest does not get much more digits for that. -1: every cell by itself. */
static int table_decimals(const struct data_table *t, size_t column, const struct display_unit *u)
{
    int most = 0, least = 9, digits = t->columns[column].digits;
    for (size_t row = 0; row < t->n_rows && digits > 0; row++) {
        double shown = (t->values[row * t->n_columns + column] - u->offset) / u->factor;
        if (!isfinite(shown) || !(fabs(shown) > 0.0))
            continue;
        int d = cell_decimals(shown, digits);
        most = d > most ? d : most;
        least = d < least ? d : least;
    }
    return digits > 0 && least >= 0 && most - least <= SPARE_DIGITS && most <= 9 ? most : -1;
}

/* A number that would need a power of ten is a share or a chance next to nothing: "below 0.01". */
static const char *cell_number(struct html *g, double shown, int digits, const char *unit)
{
    const char *s = number_text(g->arena, shown, digits);
    bool percent = strcmp(unit, "%") == 0;
    if (strchr(s, 'e') == NULL || !(shown > 0.0 && shown < 0.001) || (!percent && *unit != '\0'))
        return s;
    return percent ? "below 0.01" : "below 0.001";
}

/* Ends of intervals claim no more than was found: away from the middle at the last digit shown. */
static const char *data_number(struct html *g, const struct data_column *c,
                               const struct display_unit *u, double value, int decimals)
{
    double shown = (value - u->offset) / u->factor;
    if (!isfinite(shown) || c->digits <= 0)
        return html_number(g->arena, u, value, -1);
    bool nothing = !(fabs(shown) > 0.0);
    int own = decimals >= 0 ? decimals : nothing ? 0 : cell_decimals(shown, c->digits);
    if (c->toward != 0 && own >= 0 && own <= 9 && !nothing)
        shown = round_toward(shown, own, c->toward);
    return decimals >= 0 ? html_fixed(g->arena, shown, decimals)
                         : cell_number(g, shown, c->digits, u->name);
}

static void data_cell(struct html *g, const struct data_table *t, size_t row, size_t column,
                      int decimals)
{
    const struct data_column *c = &t->columns[column];
    size_t i = row * t->n_columns + column;
    struct display_unit u = svg_unit(g->premises, c->dimension, c->unit);
    if (c->is_text)
        html_cell(g, t->texts[i]);
    else
        html_number_cell(g, t->texts[i] != NULL ? t->texts[i]
                                                : data_number(g, c, &u, t->values[i], decimals));
}

void html_data_tables(struct html *g, const struct finding *f)
{
    for (size_t k = 0; k < f->n_tables; k++) {
        const struct data_table *t = &f->tables[k];
        const char **heads = ARENA_ARRAY(g->arena, const char *, t->n_columns);
        int *decimals = ARENA_ARRAY(g->arena, int, t->n_columns);
        for (size_t i = 0; i < t->n_columns; i++) {
            struct display_unit u =
                svg_unit(g->premises, t->columns[i].dimension, t->columns[i].unit);
            heads[i] = t->columns[i].is_text ? t->columns[i].title
                                             : html_head(g->arena, t->columns[i].title, &u);
            decimals[i] = t->columns[i].is_text ? -1 : table_decimals(t, i, &u);
        }
        html_table_open(g, "data", t->title, heads, t->n_columns);
        for (size_t r = 0; r < t->n_rows; r++) {
            html_row_open(g, NULL);
            for (size_t i = 0; i < t->n_columns; i++)
                data_cell(g, t, r, i, decimals[i]);
            html_row_close(g);
        }
        html_table_close(g);
    }
}
