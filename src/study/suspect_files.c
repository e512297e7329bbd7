/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Wrong units that another table of the trial, or trial.ini, gives away. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study_internal.h"

#define SAME_SPEED 1.25     /* speeds this near are compared: pressure hardly changes over them */
#define CLOSE_PRESSURE 1.35 /* two studies of one mold do not agree better */
#define CLOSE_TIME 2.0
#define FAR_OFF 5.0          /* a running value this far outside the tested range */
#define NEAR_RANGE 2.0       /* and this near to it when the factor is taken off */
#define IMPOSSIBLE 3.0       /* times the whole cycle: no part of one takes that long */
#define NO_PRESS_GIVES 500.0 /* MPa, melt */

/* ---- other tables --------------------------------------------------------------------------- */

struct reading {
    double speed, value;
    size_t row;
};

static bool first_of_label(const struct table *t, int label, size_t row, double speed, int at_speed)
{
    for (size_t i = 0; label >= 0 && i < row; i++)
        if (t->rows[i].cells[at_speed].value == speed &&
            strcmp(t->rows[i].cells[label].text, t->rows[row].cells[label].text) == 0)
            return false;
    return true;
}

/* Median of the column's readings at that speed and label. */
static double median_at(struct arena *a, const struct table *t, int column, int at_speed, int label,
                        size_t row)
{
    double *v = ARENA_ARRAY(a, double, t->n_rows);
    size_t n = 0;
    for (size_t i = 0; i < t->n_rows; i++) {
        const int columns[2] = {column, at_speed};
        if (table_row_has(t, i, columns, 2) &&
            t->rows[i].cells[at_speed].value == t->rows[row].cells[at_speed].value &&
            (label < 0 ||
             strcmp(t->rows[i].cells[label].text, t->rows[row].cells[label].text) == 0))
            v[n++] = t->rows[i].cells[column].value;
    }
    return math_median(v, n);
}

#define READINGS_MOST 40 /* speeds and labels that are looked at */

/* A reading for each speed and label; the greatest over the labels counts, since only a full mold
 * compares with a full mold. */
static size_t readings_of(struct arena *a, const struct table *t, const char *column,
                          struct reading *out)
{
    int value = table_find(t, column, 0), at_speed = table_find(t, "injection_speed", 0);
    int label = table_find(t, "stage", 0);
    size_t n = 0, looked_at = 0;
    if (value < 0 || at_speed < 0)
        return 0;
    for (size_t i = 0; i < t->n_rows && looked_at < READINGS_MOST; i++) {
        const int columns[2] = {value, at_speed};
        if (!table_row_has(t, i, columns, 2))
            continue;
        double speed = t->rows[i].cells[at_speed].value;
        size_t k = 0;
        while (k < n && out[k].speed != speed)
            k++;
        if (k < n && (label < 0 || !first_of_label(t, label, i, speed, at_speed)))
            continue;
        looked_at++;
        double v = median_at(a, t, value, at_speed, label, i);
        if (k == n)
            out[n++] = (struct reading){speed, v, i};
        else if (v > out[k].value)
            out[k] = (struct reading){speed, v, i};
    }
    return n;
}

/* The pair of readings at the nearest speeds. */
static bool nearest(const struct reading *a, size_t n, const struct reading *b, size_t m,
                    struct reading *own, struct reading *other)
{
    double least = log(SAME_SPEED);
    bool found = false;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < m; j++) {
            double off = fabs(log(a[i].speed / b[j].speed));
            if (!(off <= least) || (found && off >= least))
                continue;
            least = off;
            *own = a[i];
            *other = b[j];
            found = true;
        }
    return found;
}

/* Canonical and not shown in the units people entered: a hydraulic display would hide the trouble.
 */
static const char *plain(const struct suspect *s, enum dimension d, double v)
{
    return value_text(s->a, NULL, d, v, PL_NAN);
}

static void compare_tables(struct suspect *s, const struct table *t, const char *mine,
                           const char *theirs, enum dimension d)
{
    struct reading a[READINGS_MOST], b[READINGS_MOST], own, other;
    size_t n = readings_of(s->a, s->table, mine, a), m = readings_of(s->a, t, theirs, b);
    struct suspect_factor f[2];
    const struct suspect_factor *also;
    if (!nearest(a, n, b, m, &own, &other))
        return;
    double ratio = own.value / other.value;
    const struct suspect_factor *match = suspect_match(
        f, suspect_factors(s, d, f), ratio, d == DIM_PRESSURE ? CLOSE_PRESSURE : CLOSE_TIME, &also);
    if (match == NULL || finding_has_flag(s->f, match->code))
        return;
    SUSPECT_RAISE(s, match->code, study_file(s->table, own.row), s->table->rows[own.row].line,
                  "at %s the %s is %s%s, and in %s, line %ld, the %s is %s at %s: a factor of %s, "
                  "like that of %s%s%s",
                  suspect_value(s, DIM_SPEED, own.speed, PL_NAN), suspect_name(s, mine),
                  plain(s, d, own.value), d == DIM_PRESSURE ? " (melt)" : "",
                  study_file(t, other.row), t->rows[other.row].line, suspect_name(s, theirs),
                  plain(s, d, other.value), suspect_value(s, DIM_SPEED, other.speed, PL_NAN),
                  number_text(s->a, fmax(ratio, 1.0 / ratio), 3), match->words,
                  also == NULL ? "" : ", or of ", also == NULL ? "" : also->words);
}

static void against_tables(struct suspect *s)
{
    static const char *const pressures[] = {"transfer_pressure", "peak_pressure"};
    for (size_t i = 0; i < s->trial->n_tables; i++) {
        const struct table *t = &s->trial->tables[i];
        if (t == s->table || strcmp(t->study, s->table->study) == 0)
            continue;
        for (size_t j = 0; j < PL_COUNT(pressures); j++)
            for (size_t k = 0; k < PL_COUNT(pressures); k++)
                compare_tables(s, t, pressures[j], pressures[k], DIM_PRESSURE);
        compare_tables(s, t, "fill_time", "fill_time", DIM_TIME);
    }
}

/* ---- trial.ini ------------------------------------------------------------------------------ */

/* The running value as melt pressure, where it is a pressure. */
static double running_value(const struct suspect *s, const char *key, enum dimension d)
{
    double v = facts_number(&s->trial->facts, "running", key, PL_NAN);
    const char *basis = facts_text(&s->trial->facts, "press", "pressure_basis");
    if (d == DIM_PRESSURE && basis != NULL && text_same_word(basis, "hydraulic"))
        v *= facts_number(&s->trial->facts, "press", "intensification_ratio", PL_NAN);
    return v;
}

static bool column_range(const struct suspect *s, int column, double *low, double *high,
                         size_t *first)
{
    *low = PL_INF;
    *high = 0.0;
    for (size_t i = 0; i < s->table->n_rows; i++) {
        if (!table_row_has(s->table, i, &column, 1))
            continue;
        double v = s->table->rows[i].cells[column].value;
        if (!(v > 0.0))
            continue;
        if (*high <= 0.0)
            *first = i;
        *low = fmin(*low, v);
        *high = fmax(*high, v);
    }
    return *high > 0.0;
}

/* How far v lies outside the range, as a factor; 1 inside. */
static double outside(double v, double low, double high)
{
    return fmax(1.0, fmax(low / v, v / high));
}

/* Far outside the tested range, and near to it when a factor is taken off; the one that brings it
 * nearest. */
static void against_running(struct suspect *s, int column, const char *key)
{
    const struct column_spec *spec = s->table->columns[column].spec;
    double low, high, running = running_value(s, key, spec->dimension), least = NEAR_RANGE;
    size_t first = 0;
    struct suspect_factor f[2];
    const struct suspect_factor *best = NULL, *also = NULL;
    if (!(running > 0.0) || !column_range(s, column, &low, &high, &first) ||
        outside(running, low, high) <= FAR_OFF)
        return;
    size_t n = suspect_factors(s, spec->dimension, f);
    for (size_t i = 0; i < n; i++) {
        double then = running > high ? running / f[i].factor : running * f[i].factor;
        double off = outside(then, low, high);
        if (off > NEAR_RANGE)
            continue;
        also = off < least ? best : &f[i];
        best = off < least ? &f[i] : best;
        least = fmin(off, least);
    }
    if (best == NULL || finding_has_flag(s->f, best->code))
        return;
    SUSPECT_RAISE(s, best->code, study_file(s->table, first), s->table->rows[first].line,
                  "the %s was run at %s, and the value in use is %s ([running] %s): they seem to "
                  "differ by the factor between %s%s%s",
                  suspect_name(s, spec->name),
                  low < high ? arena_printf(s->a, "%s to %s", plain(s, spec->dimension, low),
                                            plain(s, spec->dimension, high))
                             : plain(s, spec->dimension, low),
                  plain(s, spec->dimension, running), key, best->words,
                  also == NULL ? "" : ", or between ", also == NULL ? "" : also->words);
}

/* No time of a cycle can be longer than all of it. */
static void against_cycle(struct suspect *s, int column)
{
    const struct column_spec *spec = s->table->columns[column].spec;
    double cycle = facts_number(&s->trial->facts, "running", "cycle_time", PL_NAN), low, high;
    size_t first = 0;
    if (!(cycle > 0.0) || !column_range(s, column, &low, &high, &first) ||
        !(low > NEAR_RANGE * cycle))
        return;
    const char *code =
        low > IMPOSSIBLE * cycle && low / 60.0 <= cycle ? "unit-impossible" : "minutes-for-seconds";
    if (finding_has_flag(s->f, code))
        return;
    SUSPECT_RAISE(s, code, study_file(s->table, first), s->table->rows[first].line,
                  "the shortest %s is %s, and the whole cycle in use takes %s ([running] "
                  "cycle_time): one of them seems to be in the wrong unit",
                  suspect_name(s, spec->name), plain(s, DIM_TIME, low), plain(s, DIM_TIME, cycle));
}

static void against_ini(struct suspect *s)
{
    static const char *const of_a_cycle[] = {"hold_time", "cooling_time", "fill_time",
                                             "recovery_time"};
    for (size_t i = 0; i < PL_COUNT(of_a_cycle); i++) {
        int c = table_find(s->table, of_a_cycle[i], 0);
        if (c < 0)
            continue;
        against_running(s, c, of_a_cycle[i]);
        against_cycle(s, c);
    }
    int hold = table_find(s->table, "hold_pressure", 0);
    if (hold >= 0)
        against_running(s, hold, "hold_pressure");
}

/* A melt pressure that was given as hydraulic comes out larger than any. */
static void press_limit(struct suspect *s)
{
    const struct facts *f = &s->trial->facts;
    const char *basis = facts_text(f, "press", "pressure_basis");
    double most = facts_number(f, "press", "max_injection_pressure", PL_NAN);
    double ratio = facts_number(f, "press", "intensification_ratio", PL_NAN);
    bool has_pressure = table_find(s->table, "transfer_pressure", 0) >= 0 ||
                        table_find(s->table, "peak_pressure", 0) >= 0;
    if (!has_pressure || basis == NULL || !text_same_word(basis, "hydraulic") ||
        !(most * ratio > NO_PRESS_GIVES))
        return;
    SUSPECT_RAISE(s, "hydraulic-or-melt", f->file,
                  facts_find(f, "press", "max_injection_pressure")->line,
                  "[press] max_injection_pressure, taken as hydraulic, is %s of melt pressure, and "
                  "no press gives that much: it seems to be a melt pressure already",
                  plain(s, DIM_PRESSURE, most * ratio));
}

void suspect_files(struct suspect *s)
{
    against_tables(s);
    against_ini(s);
    press_limit(s);
}
