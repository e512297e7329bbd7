/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was measured on the parts: names of [dimensions], warp, part temperature. */
#include <math.h>
#include <string.h>

#include "cooling.h"

static bool is_temperature(const struct table_column *column)
{
    return strcmp(column->spec->name, "part_temperature") == 0;
}

static const struct fact *limits_of(const struct cooling *c, const char *name)
{
    const struct facts *f = &c->trial->facts;
    for (size_t i = 0; i < f->n; i++)
        if (strcmp(f->items[i].section, "dimensions") == 0 && f->items[i].kind == FACT_LIMITS &&
            text_same_word(f->items[i].key, name))
            return &f->items[i];
    return NULL;
}

/* ", not at ejection" behind the limits. */
static bool is_left_out(const struct fact *limits)
{
    const char *comma = limits != NULL && limits->text != NULL ? strrchr(limits->text, ',') : NULL;
    if (comma == NULL)
        return false;
    comma += strspn(comma, ", ");
    return text_same_word(comma, "not at ejection");
}

/* A column of the study itself is no dimension, whatever [dimensions] calls it. */
static bool is_own_column(const char *name)
{
    const struct study *s = study_find("cooling");
    for (size_t i = 0; s != NULL && i < s->n_columns; i++)
        if (strcmp(s->columns[i].name, name) == 0)
            return true;
    return false;
}

static bool is_measure(const struct cooling *c, const struct table_column *column)
{
    const char *name = column->spec->name;
    if (is_temperature(column))
        return true;
    const struct fact *limits = limits_of(c, name);
    if (strcmp(name, "warp") == 0)
        return !is_left_out(limits);
    return limits != NULL && !is_left_out(limits) && !is_own_column(name);
}

static bool has_value(const struct table_row *row, size_t column)
{
    return row->cells[column].kind == CELL_VALUE;
}

/* A reading, a defect or the word that there is none, or a table in which nothing but defects is
 * looked for. */
bool cooling_has_reading(const struct cooling *c, size_t shot)
{
    const struct table_row *row = cooling_row(c, shot);
    bool any = false;
    for (size_t i = 0; i < c->table->n_columns; i++)
        if (is_measure(c, &c->table->columns[i])) {
            any = true;
            if (has_value(row, i))
                return true;
        }
    return !any || row->defect[0] != '\0' || row->good;
}

/* ---- columns of a measure ----------------------------------------------------------------------
 */

static bool column_is_filled(const struct cooling *c, size_t column)
{
    for (size_t i = 0; i < c->n; i++)
        if (has_value(cooling_row(c, i), column))
            return true;
    return false;
}

static void fill_column(const struct cooling *c, size_t column, struct cooling_column *out)
{
    *out = (struct cooling_column){.column = (int)column,
                                   .cavity = c->table->columns[column].cavity,
                                   .x = ARENA_ARRAY(c->a, double, c->n),
                                   .y = ARENA_ARRAY(c->a, double, c->n),
                                   .shot = ARENA_ARRAY(c->a, size_t, c->n)};
    for (size_t i = 0; i < c->n; i++) {
        const struct table_row *row = cooling_row(c, i);
        if (!has_value(row, column))
            continue;
        out->x[out->n] = c->setting[c->shot[i].setting].x;
        out->y[out->n] = row->cells[column].value;
        out->shot[out->n++] = i;
    }
    out->step = math_reading_step(out->y, out->n, c->table->columns[column].step);
}

/* One column for all cavities goes before single ones. */
static void find_columns(struct cooling *c, struct cooling_measure *m)
{
    const struct table *t = c->table;
    m->column = ARENA_ARRAY(c->a, struct cooling_column, t->n_columns);
    int whole = table_find(t, m->name, 0);
    if (whole >= 0 && column_is_filled(c, (size_t)whole)) {
        fill_column(c, (size_t)whole, &m->column[m->n_columns++]);
        return;
    }
    for (size_t i = 0; i < t->n_columns; i++)
        if (strcmp(t->columns[i].spec->name, m->name) == 0 && column_is_filled(c, i))
            fill_column(c, i, &m->column[m->n_columns++]);
}

/* Shots that have every cavity. The parts of a shot move together, so their mean shows the movement
 * with the least scatter; of temperatures the hottest part is the one that must be cold enough. */
static void find_shots(struct cooling *c, struct cooling_measure *m)
{
    m->x = ARENA_ARRAY(c->a, double, c->n);
    m->y = ARENA_ARRAY(c->a, double, c->n);
    m->shot = ARENA_ARRAY(c->a, size_t, c->n);
    for (size_t i = 0; i < c->n; i++) {
        const struct table_row *row = cooling_row(c, i);
        double sum = 0.0, top = -PL_INF;
        size_t have = 0;
        for (size_t k = 0; k < m->n_columns; k++) {
            const struct cell *cell = &row->cells[m->column[k].column];
            if (cell->kind != CELL_VALUE)
                continue;
            have++;
            sum += cell->value;
            top = fmax(top, cell->value);
        }
        m->incomplete += have > 0 && have < m->n_columns;
        if (have < m->n_columns)
            continue;
        m->x[m->n] = c->setting[c->shot[i].setting].x;
        m->y[m->n] = m->temperature ? top : sum / (double)have;
        m->shot[m->n++] = i;
    }
    for (size_t k = 0; k < m->n_columns; k++)
        m->step = fmax(m->step, m->column[k].step);
    if (!m->temperature)
        m->step /= sqrt((double)m->n_columns);
}

static const char *spaced(struct arena *a, const char *name)
{
    char *s = arena_copy(a, name);
    for (char *p = s; *p != '\0'; p++)
        if (*p == '_')
            *p = ' ';
    return s;
}

static void add_measure(struct cooling *c, const struct table_column *column)
{
    struct cooling_measure m = {.name = column->spec->name,
                                .words = spaced(c->a, column->spec->name),
                                .dimension = column->spec->dimension,
                                .temperature = is_temperature(column),
                                .low = -PL_INF,
                                .high = PL_INF};
    if (m.temperature) {
        m.high = facts_number(&c->trial->facts, "material", "ejection_temperature", PL_INF);
        m.limited = isfinite(m.high);
    } else {
        const struct fact *limits = limits_of(c, m.name);
        m.limited = limits != NULL && limits->dimension == m.dimension;
        if (m.limited) {
            m.low = limits->low;
            m.high = limits->high;
        }
        m.settles = m.limited && isfinite(m.low) && isfinite(m.high);
    }
    find_columns(c, &m);
    find_shots(c, &m);
    if (m.n > 0)
        c->measure[c->n_measures++] = m;
    else if (m.n_columns > 0)
        c->lost = m.words;
}

void cooling_find_measures(struct cooling *c)
{
    const struct table *t = c->table;
    c->measure = ARENA_ARRAY(c->a, struct cooling_measure, t->n_columns);
    for (size_t i = 0; c->n > 0 && i < t->n_columns; i++) {
        bool known = !is_measure(c, &t->columns[i]);
        for (size_t k = 0; k < i; k++)
            known = known || strcmp(t->columns[k].spec->name, t->columns[i].spec->name) == 0;
        if (!known)
            add_measure(c, &t->columns[i]);
    }
}
