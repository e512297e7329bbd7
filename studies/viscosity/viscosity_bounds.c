/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bounds on the fill time, and the same on the injection speed. The tested, unlimited, defect-free
 * range holds them all: what a curve or a formula would allow beyond it nobody has seen. */
#include <math.h>
#include <string.h>

#include "viscosity.h"

#define FILLED_AT_TRANSFER 0.98 /* share of the part that passes the gate before transfer */
#define THIN_SLIT 10.0
#define CLEAR_SETTINGS 2 /* good ones between a defect and the bound; our convention */

static const char DEFECT_CRITERION[] = "defect_free_share";

/* ---- the range
 * ---------------------------------------------------------------------------------------- */

struct range {
    double slowest, fastest;         /* fill times of the good run */
    double beyond_slow, beyond_fast; /* of the bad condition next to it; NAN when none */
    const struct viscosity_block *slow_bad, *fast_bad;
    size_t rows;
};

static bool is_good(const struct viscosity_block *b)
{
    return b->defect == NULL && b->doubt.what == VISC_FREE;
}

/* A limited condition is an edge only where nothing free was run beyond it. */
static bool is_edge(const struct viscosity *v, const struct viscosity_block *b)
{
    if (b->defect != NULL)
        return true;
    if (b->doubt.what == VISC_FREE)
        return false;
    for (size_t i = 0; i < v->n_free; i++)
        if (v->data.block[v->free[i]].time < b->time)
            return false;
    return true;
}

/* The longest run of good conditions between edges, from slow to fast. */
static struct range good_range(const struct viscosity *v)
{
    const size_t *order = viscosity_order(v);
    struct range best = {0};
    size_t n = v->data.n_blocks, most = 0;
    for (size_t i = 0; i < n;) {
        const struct viscosity_block *first = &v->data.block[order[i]];
        if (is_edge(v, first)) {
            i++;
            continue;
        }
        struct range r = {.slowest = -PL_INF, .fastest = PL_INF};
        r.slow_bad = i > 0 ? &v->data.block[order[i - 1]] : NULL;
        size_t count = 0;
        for (; i < n && !is_edge(v, &v->data.block[order[i]]); i++) {
            const struct viscosity_block *b = &v->data.block[order[i]];
            if (!is_good(b))
                continue;
            count++;
            r.rows += b->n;
            r.slowest = fmax(r.slowest, b->time);
            r.fastest = fmin(r.fastest, b->time);
        }
        r.fast_bad = i < n ? &v->data.block[order[i]] : NULL;
        if (count > most) {
            most = count;
            best = r;
        }
    }
    best.beyond_slow = best.slow_bad != NULL ? best.slow_bad->time : PL_NAN;
    best.beyond_fast = best.fast_bad != NULL ? best.fast_bad->time : PL_NAN;
    return best;
}

/* ---- to speed
 * ------------------------------------------------------------------------------------------- */

/* 1 / v is straight over t between neighbouring free conditions; beyond them the last piece goes
 * on. */
static double speed_at(const struct viscosity *v, double t)
{
    if (!(t > 0.0))
        return PL_INF;
    if (isinf(t))
        return 0.0;
    const struct viscosity_block *slower = NULL, *faster = NULL, *slower2 = NULL, *faster2 = NULL;
    for (size_t i = 0; i < v->n_free; i++) {
        const struct viscosity_block *b = &v->data.block[v->free[i]];
        if (b->time >= t && (slower == NULL || b->time < slower->time))
            slower = b;
        if (b->time <= t && (faster == NULL || b->time > faster->time))
            faster = b;
    }
    for (size_t i = 0; i < v->n_free; i++) {
        const struct viscosity_block *b = &v->data.block[v->free[i]];
        if (slower != NULL && b->time > slower->time * 1.001 &&
            (slower2 == NULL || b->time < slower2->time))
            slower2 = b;
        if (faster != NULL && b->time < faster->time * 0.999 &&
            (faster2 == NULL || b->time > faster2->time))
            faster2 = b;
    }
    const struct viscosity_block *p = slower != NULL ? slower : faster2;
    const struct viscosity_block *q = faster != NULL ? faster : slower2;
    if (p == NULL || q == NULL)
        return PL_NAN;
    if (!(fabs(p->time - q->time) > 1e-9 * p->time))
        return p->speed;
    double inverse =
        1.0 / p->speed + (1.0 / q->speed - 1.0 / p->speed) * (t - p->time) / (q->time - p->time);
    return inverse > 0.0 ? 1.0 / inverse : PL_INF;
}

/* The bound on fill time, and its mirror on speed. */
static void add_bound(struct viscosity *v, struct bound b)
{
    struct bound *time = finding_bound(v->f, "fill_time", b.side, DIM_TIME);
    const char *study = time->study;
    b.setting = "fill_time";
    b.dimension = DIM_TIME;
    b.study = study;
    *time = b;
    if (!v->data.by_speed || v->n_settings < 2)
        return;
    double value = speed_at(v, b.value);
    if (!isfinite(value))
        return;
    enum bound_side side = b.side == BOUND_LOWER ? BOUND_UPPER : BOUND_LOWER;
    struct bound *speed = finding_bound(v->f, "injection_speed", side, DIM_SPEED);
    b.setting = "injection_speed";
    b.dimension = DIM_SPEED;
    b.side = side;
    double low = speed_at(v, b.high), high = speed_at(v, b.low);
    b.value = value;
    b.low = isnan(low) ? value : low;
    b.high = isnan(high) ? value : high;
    *speed = b;
}

/* ---- the slow side
 * ------------------------------------------------------------------------------------- */

static void knee_bound(struct viscosity *v, const struct range *range)
{
    const struct visc_value *k = &v->r.sensitivity;
    if (!v->r.safe || v->is_short)
        return;
    double value = fmin(fmax(k->low, range->fastest), range->slowest);
    add_bound(
        v, (struct bound){
               .side = BOUND_UPPER,
               .value = value,
               .low = fmin(k->low, value),
               .high = k->high,
               .grade = v->r.follows_range ? BOUND_CONVENTION : BOUND_LIMIT,
               .model = v->r.model[v->r.best].name,
               .criterion = "viscosity_tolerance",
               /* that small only at fills nobody should run */
               .verdict = k->low < range->fastest * (1.0 - 1e-9)
                              ? verdict_worst(v->verdict, VERDICT_NOT_SHOWN)
                              : v->verdict,
               .rows = v->r.line.n_rows,
               .because = arena_printf(
                   v->a,
                   "filling at least this fast, a fill %s slower changes viscosity by at most %s "
                   "of its fall in the trial",
                   viscosity_percent(v, v->options.disturbance),
                   viscosity_percent(v, v->options.tolerance)),
           });
}

static const char *what_is_bad(const struct viscosity *v, const struct viscosity_block *b)
{
    if (b->defect != NULL)
        return arena_printf(v->a, "shows \"%s\"", b->defect);
    return b->doubt.what == VISC_PRESSURE_LIMITED ? "is held by the pressure limit"
                                                  : "does not reach its speed";
}

static void edge_bound(struct viscosity *v, const struct range *range, bool fast)
{
    const struct viscosity_block *bad = fast ? range->fast_bad : range->slow_bad;
    double good = fast ? range->fastest : range->slowest;
    double beyond = fast ? range->beyond_fast : range->beyond_slow;
    if (bad == NULL || !isfinite(good))
        return;
    add_bound(v, (struct bound){
                     .side = fast ? BOUND_LOWER : BOUND_UPPER,
                     .value = good,
                     .low = fast ? fmin(beyond, good) : good,
                     .high = fast ? good : fmax(beyond, good),
                     .grade = BOUND_LIMIT,
                     .model = "tested conditions",
                     .criterion = bad->defect != NULL ? DEFECT_CRITERION : NULL,
                     .verdict = VERDICT_MET, /* of a defect: judged when all bounds are there */
                     .rows = range->rows,
                     .because = arena_printf(v->a,
                                             "the %s condition that is free of trouble; the one at "
                                             "%s %s",
                                             fast ? "fastest" : "slowest",
                                             viscosity_setting(v, bad), what_is_bad(v, bad)),
                 });
}

/* ---- defects next to the range
 * ------------------------------------------------------------------------------------- */

static const struct viscosity_block *at_time(const struct viscosity *v, double t)
{
    for (size_t i = 0; i < v->data.n_blocks; i++)
        if (is_good(&v->data.block[i]) && v->data.block[i].time == t)
            return &v->data.block[i];
    return NULL;
}

static bool same_setting(const struct viscosity *v, const struct viscosity_block *a,
                         const struct viscosity_block *b)
{
    return v->data.by_speed ? a->speed == b->speed : a == b;
}

/* Good settings from the defect up to a fill time. */
static size_t settings_between(const struct viscosity *v, const struct viscosity_block *bad,
                               double t, bool fast)
{
    size_t n = 0;
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        const struct viscosity_block *b = &v->data.block[i];
        bool inside =
            fast ? b->time > bad->time && b->time <= t : b->time < bad->time && b->time >= t;
        bool again = false;
        for (size_t k = 0; k < i; k++)
            again = again || (is_good(&v->data.block[k]) && same_setting(v, &v->data.block[k], b));
        n += inside && is_good(b) && !again;
    }
    return n;
}

static size_t shots_at(const struct viscosity *v, const struct viscosity_block *at)
{
    size_t n = 0;
    for (size_t i = 0; i < v->data.n_blocks; i++)
        if (is_good(&v->data.block[i]) && same_setting(v, &v->data.block[i], at))
            n += v->data.block[i].n;
    return n;
}

/* The good condition nearest to the defect that a run of shots shows; NULL: there is none. */
static const struct viscosity_block *shown_by_run(const struct viscosity *v,
                                                  const struct range *range, bool fast)
{
    const struct viscosity_block *best = NULL;
    size_t need = study_success_run(v->good_share, v->options.confidence);
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        const struct viscosity_block *b = &v->data.block[i];
        bool inside = b->time >= range->fastest && b->time <= range->slowest;
        if (inside && is_good(b) && shots_at(v, b) >= need &&
            (best == NULL || (fast ? b->time < best->time : b->time > best->time)))
            best = b;
    }
    return best;
}

/* The bound goes back to where a run has shown it: shots beyond it are good and too few. */
static void move_bound(struct viscosity *v, struct bound *b, const struct viscosity_edge *e)
{
    bool time = b->dimension == DIM_TIME;
    b->value = time ? e->good->time : speed_at(v, e->good->time);
    b->because = arena_printf(v->a, "a run of %zu shots was good here; the condition at %s %s",
                              e->shots, viscosity_setting(v, e->bad), what_is_bad(v, e->bad));
    if (b->side == BOUND_LOWER)
        b->high = b->value;
    else
        b->low = b->value;
}

/* A defect far beyond the bound that decides keeps nothing open; next to it, only a run of good
 * shots shows that it is gone. */
static void judge_edge(struct viscosity *v, const struct range *range, bool fast)
{
    struct viscosity_edge *e = &v->edge[fast];
    e->bad = fast ? range->fast_bad : range->slow_bad;
    double good = fast ? range->fastest : range->slowest, decides = good;
    if (e->bad == NULL || e->bad->defect == NULL || !isfinite(good))
        return;
    const struct viscosity_block *edge = at_time(v, good), *run = shown_by_run(v, range, fast);
    e->good = run != NULL ? run : edge;
    if (e->good == NULL)
        return;
    e->shots = shots_at(v, e->good);
    enum bound_side side = fast ? BOUND_LOWER : BOUND_UPPER;
    for (size_t i = 0; i < v->f->n_bounds; i++) {
        const struct bound *b = &v->f->bounds[i];
        if (b->side == side && b->dimension == DIM_TIME)
            decides = fast ? fmax(decides, b->value) : fmin(decides, b->value);
    }
    e->between = settings_between(v, e->bad, decides, fast);
    bool clear = e->between >= CLEAR_SETTINGS;
    e->verdict = run != NULL || clear ? VERDICT_MET : VERDICT_NOT_SHOWN;
    for (size_t i = 0; i < v->f->n_bounds; i++) {
        struct bound *b = &v->f->bounds[i];
        bool mine = (b->dimension == DIM_TIME) == (b->side == side);
        if (!mine || b->criterion == NULL || strcmp(b->criterion, DEFECT_CRITERION) != 0)
            continue;
        b->verdict = e->verdict;
        if (run != NULL && !clear && !same_setting(v, run, edge))
            move_bound(v, b, e);
    }
}

/* ---- the fast side
 * ------------------------------------------------------------------------------------- */

/* A limit on the fast side, cut to the tested range. `safe` is the longest fill time the limit may
 * mean, `low` the shortest. */
static void fast_limit(struct viscosity *v, const struct range *range, struct bound b,
                       const char *what)
{
    if (b.value < range->fastest) {
        if (v->is_short) /* it stays inside the approved limits on purpose */
            return;
        VISCOSITY_RAISE(v, "range-ends-here", NULL, 0,
                        "%s would allow a fill time of %s; nothing faster than %s was run free of "
                        "limits and defects, so the bound stays there",
                        what, viscosity_time(v, b.value, PL_NAN),
                        viscosity_time(v, range->fastest, PL_NAN));
        b.value = range->fastest;
        b.high = b.value;
        b.low = fmin(b.low, b.value);
        b.because = arena_printf(v->a, "the fastest tested fill; %s would allow faster ones", what);
    }
    add_bound(v, b);
}

static void pressure_bound(struct viscosity *v, const struct range *range)
{
    if (!(v->available > 0.0))
        return;
    double allowed = v->use_max * v->available;
    struct visc_value t = visc_time_at_pressure(&v->r, allowed);
    /* beyond the slowest tested fill there is nothing to bound: the criterion says so */
    if (!isfinite(t.high) || t.high > range->slowest)
        return;
    fast_limit(
        v, range,
        (struct bound){
            .side = BOUND_LOWER,
            .value = t.high,
            .low = t.low,
            .high = t.high,
            .grade = BOUND_CONVENTION,
            .model = v->r.model[v->r.best].name,
            .criterion = "pressure_use_max",
            .verdict = VERDICT_MET,
            .rows = v->r.line.n_rows,
            .because =
                arena_printf(v->a,
                             "here the pressure reaches %s of the "
                             "%s available",
                             viscosity_percent(v, v->use_max), viscosity_pressure(v, v->available)),
        },
        arena_printf(v->a, "%s of the available pressure", viscosity_percent(v, v->use_max)));
}

/* Fill time at which the melt reaches the supplier's greatest rate at the gate wall; NAN when not
 * given. Q = 0.98 V / (t gates); 4 Q / (pi r^3) in a round gate, 6 Q / (w h^2) in a flat one. */
double viscosity_shear_rate_time(const struct viscosity *v, bool *slit_is_narrow)
{
    const struct facts *f = &v->trial->facts;
    double volume = facts_number(f, "mold", "part_volume", PL_NAN);
    double gates = facts_number(f, "mold", "gates_per_cavity", 1.0);
    double most = facts_number(f, "material", "max_shear_rate", PL_NAN);
    double d = facts_number(f, "mold", "gate_diameter", PL_NAN);
    double w = facts_number(f, "mold", "gate_width", PL_NAN);
    double h = facts_number(f, "mold", "gate_thickness", PL_NAN);
    *slit_is_narrow = false;
    if (!(volume > 0.0) || !(most > 0.0) || !(gates > 0.0))
        return PL_NAN;
    double flow = FILLED_AT_TRANSFER * volume / gates; /* mm3, per second of fill time */
    if (d > 0.0)
        return flow * 4.0 / (3.14159265358979323846 * pow(0.5 * d, 3.0)) / most;
    if (!(w > 0.0) || !(h > 0.0))
        return PL_NAN;
    *slit_is_narrow = w / h < THIN_SLIT;
    return flow * 6.0 / (w * h * h) / most;
}

static void gate_bound(struct viscosity *v, const struct range *range)
{
    bool narrow;
    double t = viscosity_shear_rate_time(v, &narrow);
    if (!isfinite(t))
        return;
    if (narrow)
        VISCOSITY_RAISE(v, "slit-approximate", NULL, 0,
                        "the gate is less than ten times as wide as thick: the rate at its wall is "
                        "computed as in a wide slit, a little too low");
    double most = facts_number(&v->trial->facts, "material", "max_shear_rate", PL_NAN);
    const char *rate = number_text(v->a, most, 3);
    fast_limit(
        v, range,
        (struct bound){.side = BOUND_LOWER,
                       .value = t,
                       .low = t,
                       .high = t,
                       .grade = BOUND_LIMIT,
                       .model = "apparent wall shear rate at the gate",
                       .criterion = NULL,
                       .verdict = VERDICT_MET,
                       .rows = 0,
                       .because = arena_printf(v->a,
                                               "here the apparent shear rate at "
                                               "the gate wall reaches the %s 1/s the supplier "
                                               "allows",
                                               rate)},
        arena_printf(v->a, "the supplier's %s 1/s at the gate wall", rate));
}

/* The study was made over the whole of its good range: this is its operating point. */
static void note_range(struct viscosity *v, const struct range *range)
{
    struct operating_value *o = finding_operating(v->f, "fill_time", DIM_TIME);
    o->low = range->fastest;
    o->high = range->slowest;
    o->from = "column fill_time, conditions free of limits and defects";
    if (!v->data.by_speed)
        return;
    o = finding_operating(v->f, "injection_speed", DIM_SPEED);
    o->low = PL_INF;
    o->high = -PL_INF;
    o->from = "column injection_speed, conditions free of limits and defects";
    for (size_t i = 0; i < v->data.n_blocks; i++) {
        const struct viscosity_block *b = &v->data.block[i];
        if (!is_good(b) || b->time < range->fastest || b->time > range->slowest)
            continue;
        o->low = fmin(o->low, b->speed);
        o->high = fmax(o->high, b->speed);
    }
}

void viscosity_bounds(struct viscosity *v)
{
    struct range range = good_range(v);
    if (!isfinite(range.slowest) || !(range.slowest > 0.0))
        return;
    note_range(v, &range);
    edge_bound(v, &range, false);
    edge_bound(v, &range, true);
    if (v->solved && !v->no_rise) {
        knee_bound(v, &range);
        pressure_bound(v, &range);
    }
    gate_bound(v, &range);
    judge_edge(v, &range, false);
    judge_edge(v, &range, true);
}
