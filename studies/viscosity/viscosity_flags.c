/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "plateau/math.h"
#include "viscosity.h"

#define COARSE 0.02 /* timer step over fill time */
#define WIDE 10.0
#define FIRST_SHOTS_LEAST 0.01 /* of the pressure: less is not worth a doubt */
#define SAME_MELT 3.0          /* K */
#define MISFIT_SIZE 0.5        /* of the tolerance: less is not worth a doubt */
#define MISFIT_LEVEL 0.01

const struct flag_spec viscosity_flags[VISCOSITY_FLAGS] = {
    {"coarse-timer", FLAG_DOUBT,
     "The fill times step by more than 2 % of the shortest ones. One step of the timer then looks "
     "like scatter of the melt.",
     "Read the fill time with more digits, or from the curve of the screw position."},
    {"conditions-inferred", FLAG_NOTE,
     "There is neither a column of injection speed nor one that names the conditions: consecutive "
     "shots whose fill times agree within 3 % were taken as one condition.",
     "Write the injection speed beside each shot."},
    {"few-conditions", FLAG_DOUBT,
     "Fewer than seven fill times tell of the melt. A curve bent by the melt and a plain power law "
     "are then hard to tell apart.",
     "Run seven or more speeds, three shots each."},
    {"knee-below-range", FLAG_NOTE,
     "Already at the slowest tested fill a slower fill changes viscosity by no more than the "
     "tolerance: viscosity sets no slowest fill inside the tested range.",
     "Nothing is wrong. Other limits (short shots, cycle time) decide how slow the fill may be."},
    {"knee-follows-range", FLAG_NOTE,
     "The point from which on viscosity hardly changes moves with the slowest and the fastest fill "
     "that were tested. This is the normal case: most melts follow a power law, which has no knee "
     "of "
     "its own.",
     "Use the bound as a convention: it makes moldings comparable, it is no property of the melt. "
     "Test over the range of speeds you would really use."},
    {"knee-not-reached", FLAG_DOUBT,
     "Even at the fastest tested fill, a slower fill changes viscosity by more than the tolerance: "
     "no "
     "slowest fill time can be given.",
     "Test faster fills, as far as press, mold and material allow."},
    {"melt-temperature-varied", FLAG_DOUBT,
     "The melt temperature differed by more than 3 K between shots. A colder melt is stiffer, "
     "which "
     "looks like an effect of speed.",
     "Let the barrel settle between speeds, and measure the melt at the slowest and the fastest."},
    {"misfit", FLAG_DOUBT,
     "The conditions scatter around the best curve by more than shots do within a condition: "
     "either "
     "the curve has another shape, or the settings did not repeat.",
     "Repeat one speed at the end of the study to see which of the two it is."},
    {"narrow-range", FLAG_DOUBT,
     "The slowest usable fill takes less than ten times as long as the fastest. The curve's shape "
     "cannot be told over so narrow a range.",
     "Add slower and faster fills."},
    {"no-repeats", FLAG_DOUBT,
     "There is one shot per condition: scatter from shot to shot is not known, and a press that is "
     "held by its pressure limit cannot be recognised by its scatter.",
     "Keep at least three shots at each speed."},
    {"pressure-limited", FLAG_DOUBT,
     "The pressure was held by a limit, so the fill time floats and the pressure says nothing "
     "about "
     "the melt. The condition is left out of the fit, and no fill this fast is allowed.",
     "Raise the pressure limit if press and mold allow it, or fill slower."},
    {"pressure-not-rising", FLAG_DOUBT,
     "The pressure at transfer is not shown to rise with speed. A constant pressure draws the "
     "usual "
     "picture of a viscosity curve all by itself, with a knee: no bound is taken from it.",
     "Look for a pressure limit that was set too low, for a transfer position that moved, and for "
     "columns that were mixed up."},
    {"range-ends-here", FLAG_DOUBT,
     "A curve or a formula would allow a faster fill than any that was run free of limits and "
     "defects. The bound stays at the fastest one that was.",
     "Run faster fills, as far as press, mold and material allow, if you need them."},
    {"slit-approximate", FLAG_NOTE,
     "The gate is less than ten times as wide as thick. The formula for a wide slit gives a rate "
     "at "
     "the wall that is somewhat too low.",
     "Keep some distance from the bound."},
    {"speed-not-reached", FLAG_DOUBT,
     "The fill took longer than the set speed promises although the pressure was free: the press "
     "did "
     "not reach the speed it was told. The condition is left out of the fit.",
     "Set no more than the speed the press reaches with this mold; look at its acceleration and at "
     "the length of the stroke."},
    {"too-little-data", FLAG_DOUBT,
     "There are no two fill times that are free of pressure and speed limits: too few speeds were "
     "run, or the press was at its limit in nearly all of them.",
     "Run seven or more speeds, three shots each."},
    {"viscosity-not-falling", FLAG_DOUBT,
     "The in-mold relative viscosity does not fall with faster filling. Melts do the opposite.",
     "Check that the columns are fill time and pressure at transfer, in the right units, and that "
     "the "
     "transfer position was the same in all shots."},
};

static void limited(struct viscosity *v)
{
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        const struct viscosity_block *b = &v->data.block[i];
        const char *file = viscosity_file(v, b), *setting = viscosity_setting(v, b);
        long line = viscosity_line(v, b);
        if (b->doubt.what == VISC_SPEED_NOT_REACHED)
            VISCOSITY_RAISE(v, "speed-not-reached", file, line,
                            "at %s the fill takes %s, %s longer than the slower speeds promise",
                            setting, viscosity_time(v, b->time, PL_NAN),
                            viscosity_percent(v, b->doubt.off));
        if (b->doubt.what != VISC_PRESSURE_LIMITED)
            continue;
        if (b->doubt.at_limit)
            VISCOSITY_RAISE(v, "pressure-limited", file, line,
                            "at %s the pressure reaches %s, and the limit is %s", setting,
                            viscosity_pressure(v, b->peak), viscosity_pressure(v, b->limit));
        else
            VISCOSITY_RAISE(v, "pressure-limited", file, line,
                            "at %s the pressure lies %s below the line of the other conditions and "
                            "repeats better than the fill time does",
                            setting, viscosity_percent(v, b->doubt.off));
    }
}

static void design(struct viscosity *v)
{
    double shortest = PL_INF, longest = 0.0;
    bool repeats = false;
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        shortest = fmin(shortest, v->data.block[i].time);
        longest = fmax(longest, v->data.block[i].time);
        repeats = repeats || v->data.block[i].n > 1;
    }
    if (v->data.inferred)
        VISCOSITY_RAISE(v, "conditions-inferred", NULL, 0,
                        "%zu condition%s inferred from the fill times", v->data.n_blocks,
                        v->data.n_blocks == 1 ? " was" : "s were");
    if (v->data.time_step > COARSE * shortest)
        VISCOSITY_RAISE(v, "coarse-timer", NULL, 0,
                        "the fill times step by %s, %s of the shortest fill",
                        viscosity_time(v, v->data.time_step, PL_NAN),
                        viscosity_percent(v, v->data.time_step / shortest));
    if (!repeats && v->data.n_blocks > 0)
        VISCOSITY_RAISE(v, "no-repeats", NULL, 0, "every condition has a single shot");
    if (!v->solved && v->is_short)
        return;
    if (!v->solved) {
        VISCOSITY_RAISE(v, "too-little-data", NULL, 0, "%s", viscosity_too_few(v));
        return;
    }
    if (v->is_short)
        return;
    if (v->n_settings < VISCOSITY_ENOUGH)
        VISCOSITY_RAISE(v, "few-conditions", NULL, 0, "%zu settings tell of the melt",
                        v->n_settings);
    double ratio = v->r.slowest / v->r.fastest;
    if (ratio < WIDE)
        VISCOSITY_RAISE(v, "narrow-range", NULL, 0,
                        "usable fill times run from %s to %s, a factor of %s",
                        viscosity_time(v, v->r.fastest, PL_NAN),
                        viscosity_time(v, v->r.slowest, PL_NAN), number_text(v->a, ratio, 2));
}

static void knee(struct viscosity *v)
{
    const struct visc_answer *r = &v->r;
    if (r->line.slope >= 1.0)
        VISCOSITY_RAISE(v, "viscosity-not-falling", NULL, 0,
                        "pressure rises as fast as speed does, or faster (n = %s)",
                        number_text(v->a, r->line.slope, 3));
    if (v->no_rise) {
        VISCOSITY_RAISE(
            v, "pressure-not-rising", NULL, 0, "power-law index n = %s, interval %s to %s",
            number_text(v->a, r->line.slope, 3), number_text(v->a, r->line.slope_low, 3),
            number_text(v->a, r->line.slope_high, 3));
        return;
    }
    if (v->is_short)
        return;
    if (r->state == VISC_KNEE_NOT_REACHED)
        VISCOSITY_RAISE(v, "knee-not-reached", NULL, 0,
                        "at %s a slower fill still changes viscosity by %s of its fall",
                        viscosity_time(v, r->fastest, PL_NAN),
                        viscosity_percent(v, r->effect_at_fastest.value));
    if (r->state == VISC_KNEE_BELOW_RANGE)
        VISCOSITY_RAISE(v, "knee-below-range", NULL, 0,
                        "the effect of a slower fill is small from %s, the slowest tested fill, on",
                        viscosity_time(v, r->slowest, PL_NAN));
    if (r->state != VISC_KNEE_FOUND || !r->follows_range)
        return;
    if (isfinite(r->without_slowest) && isfinite(r->without_fastest))
        VISCOSITY_RAISE(
            v, "knee-follows-range", NULL, 0,
            "the slowest fill allowed follows the tested range: %s with all settings, %s without "
            "the slowest, %s without the fastest",
            viscosity_time(v, r->sensitivity.value, PL_NAN),
            viscosity_time(v, r->without_slowest, PL_NAN),
            viscosity_time(v, r->without_fastest, PL_NAN));
    else
        VISCOSITY_RAISE(v, "knee-follows-range", NULL, 0,
                        "the slowest fill allowed is %s with all settings; it is lost when the "
                        "slowest or the fastest is left "
                        "out, or too few settings remain to say",
                        viscosity_time(v, r->sensitivity.value, PL_NAN));
}

static void fit_quality(struct viscosity *v)
{
    const struct visc_fit *best = &v->r.model[v->r.best];
    if (isfinite(best->misfit_p) && best->misfit_p < MISFIT_LEVEL && best->misfit > MISFIT_SIZE)
        VISCOSITY_RAISE(
            v, "misfit", NULL, 0,
            "a condition lies %s of viscosity_tolerance from the %s curve, more than the "
            "shots' scatter explains",
            viscosity_percent(v, best->misfit), best->name);
}

static const char *percent_of(const void *context, double distance)
{
    return viscosity_percent(context, distance);
}

/* Shots of the usable conditions. A pressure is odd when it is so by itself and at equal fill time:
 * a coarse timer makes the second alone scatter more at fast fills than at slow ones. */
static void shots(struct viscosity *v)
{
    const struct viscosity_data *d = &v->data;
    double *x = ARENA_ARRAY(v->a, double, d->n), *y = ARENA_ARRAY(v->a, double, d->n);
    double *even = ARENA_ARRAY(v->a, double, d->n);
    size_t *row = ARENA_ARRAY(v->a, size_t, d->n), n = 0;
    for (size_t i = 0; i < v->n_free; i++) {
        const struct viscosity_block *b = &d->block[v->free[i]];
        for (size_t j = b->first; j < b->first + b->n; j++) {
            x[n] = d->by_speed ? b->speed : 1.0 / d->block[d->unit[v->free[i]].group].time;
            y[n] = log(d->p[j]);
            even[n] = y[n] + v->r.line.slope * log(d->t[j]);
            row[n++] = d->row[j];
        }
    }
    struct math_blocks blocks, even_blocks;
    math_blocks_make(v->a, x, y, n, &blocks);
    math_blocks_make(v->a, x, even, n, &even_blocks);
    const char **name = ARENA_ARRAY(v->a, const char *, blocks.n_groups);
    for (size_t i = 0; i < blocks.n_groups; i++)
        name[i] = d->by_speed
                      ? value_text(v->a, v->trial->display, DIM_SPEED, blocks.group_x[i], PL_NAN)
                      : viscosity_time(v, 1.0 / blocks.group_x[i], PL_NAN);
    struct study_shots s = {.finding = v->f,
                            .table = v->table,
                            .row = row,
                            .y = y,
                            .blocks = &blocks,
                            .relative = even,
                            .relative_blocks = &even_blocks,
                            .step = math_reading_step(d->p, d->n, d->pressure_step) *
                                    exp(-v->r.line.height),
                            .alike = true,
                            .least_first = FIRST_SHOTS_LEAST,
                            .name = name,
                            .noun = "condition",
                            .before = "",
                            .in = " in pressure",
                            .verb = "takes",
                            .more = "more",
                            .less = "less",
                            .size = percent_of,
                            .first = percent_of,
                            .context = v};
    study_flag_shots(&s);
}

/* Derivative of the logarithm of the best curve by its i-th parameter, the height first. */
static void curve_tangent(const struct viscosity *v, size_t i, double *out)
{
    struct visc_answer up = v->r, down = v->r;
    enum visc_model_id id = (enum visc_model_id)v->r.best;
    double step = 1e-5;
    if (i > 0) {
        step *= fmax(fabs(v->r.model[id].theta[i - 1]), 0.1);
        up.model[id].theta[i - 1] += step;
        down.model[id].theta[i - 1] -= step;
    }
    for (size_t j = 0; j < v->n_free; j++) {
        double t = exp(v->free_unit[j].log_t);
        out[j] = i == 0
                     ? 1.0
                     : log(visc_pressure(&up, id, t) / visc_pressure(&down, id, t)) / (2.0 * step);
    }
}

static void trend(struct viscosity *v)
{
    enum visc_model_id id = (enum visc_model_id)v->r.best;
    size_t m = v->n_free, p = v->r.model[id].p;
    double *residual = ARENA_ARRAY(v->a, double, m), *tangent = ARENA_ARRAY(v->a, double, p *m);
    double height = 0.0;
    for (size_t i = 0; i < m; i++) {
        const struct visc_unit *u = &v->free_unit[i];
        residual[i] = u->log_p - log(visc_pressure(&v->r, id, exp(u->log_t)));
        height += u->log_p / (double)m;
    }
    for (size_t i = 0; i < p; i++)
        curve_tangent(v, i, &tangent[i * m]);
    const struct viscosity_block *last = &v->data.block[v->free[m - 1]];
    double step = v->data.pressure_step * exp(-height);
    struct study_curve c = {.finding = v->f,
                            .m = m,
                            .p = p,
                            .residual = residual,
                            .weight = v->r.line.weight,
                            .tangent = tangent,
                            .least_variance = step * step / 12.0,
                            .file = viscosity_file(v, last),
                            .line = viscosity_line(v, last),
                            .measured = "pressure at equal fill time",
                            .setting = "injection speed",
                            .size = percent_of,
                            .context = v};
    study_flag_trend(&c);
}

static void melt(struct viscosity *v)
{
    int c = table_find(v->table, "melt_temperature", 0);
    double low = PL_INF, high = -PL_INF;
    for (size_t i = 0; c >= 0 && i < v->data.n; i++) {
        const struct cell *cell = &v->table->rows[v->data.row[i]].cells[c];
        if (cell->kind == CELL_VALUE) {
            low = fmin(low, cell->value);
            high = fmax(high, cell->value);
        }
    }
    if (high - low > SAME_MELT)
        VISCOSITY_RAISE(v, "melt-temperature-varied", NULL, 0, "the melt was at %s",
                        interval_text(v->a, v->trial->display, DIM_TEMPERATURE, low, high));
}

void viscosity_raise_flags(struct viscosity *v)
{
    limited(v);
    design(v);
    melt(v);
    if (!v->solved)
        return;
    knee(v);
    fit_quality(v);
    shots(v);
    trend(v);
}
