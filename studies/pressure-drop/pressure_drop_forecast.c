/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What one more round of all stages would give: rounds are drawn from what is known now, added to
 * the shots and worked out as the study works out its own. */
#include <math.h>

#include "pressure_drop.h"

#define DRAWS 40
#define PRIOR_DOF 4.0 /* what the stages together count beside a stage's own few shots */

/* Variances at a stage, between those of scatter alike in pressure and alike as a share of it. */
struct outlook {
    double shot, visit; /* of a shot; of a visit in excess of it */
};

static double middle(double alike, double relative, double mean)
{
    return sqrt(alike * relative) * fabs(mean);
}

/* Where no stage was run twice nothing tells how well a stage repeats: as large a scatter as from
 * shot to shot is allowed for, by convention. */
static struct outlook outlook_of(const struct pressure_drop *p, const struct pressure_drop_stage *s)
{
    double pooled = middle(p->shot_sd * p->shot_sd, p->shot_relative * p->shot_relative, s->mean);
    double own = (double)(s->n - s->visits), rounding = p->step * p->step / 12.0;
    struct outlook o;
    o.shot = fmax((s->ss_within + PRIOR_DOF * pooled) / (own + PRIOR_DOF), rounding);
    o.visit = o.shot;
    if (p->visit_dof > 0.0) {
        double size = (double)p->blocks.n_rows / (double)p->blocks.n_blocks;
        double visits = middle(p->visit_variance, p->visit_relative, s->mean);
        o.visit = fmax(0.0, visits - pooled / size);
    }
    return o;
}

static void draw_round(const struct pressure_drop *p, size_t i, int shots, struct math_block *out)
{
    double k = (double)shots, wider = 1.0;
    if (p->visit_dof > 0.0) /* the scatter of visits is an estimate itself */
        wider = math_even_scale(i, 1, DRAWS, p->visit_dof);
    for (size_t j = 0; j < p->n_stages; j++) {
        const struct pressure_drop_stage *s = &p->stages[j];
        struct outlook o = outlook_of(p, s);
        double visit = o.visit * wider * wider;
        double known = visit * s->share + o.shot / (double)s->n; /* of the mean there is */
        double z = math_even_normal(i, j == p->deciding ? 0 : j + 2, DRAWS);
        double mean = s->mean + z * sqrt(known + visit + o.shot / k);
        out[j] = (struct math_block){
            .x = 1.0 + (double)j, .n = (size_t)shots, .mean = mean, .ss = (k - 1.0) * o.shot};
    }
}

/* The study after the i-th of the drawn rounds. */
static void follow(const struct pressure_drop *p, struct arena *a, size_t i, int shots,
                   struct pressure_drop *then)
{
    struct math_block *more = ARENA_ARRAY(a, struct math_block, p->n_stages);
    *then = *p;
    then->a = a;
    then->stages = ARENA_ARRAY(a, struct pressure_drop_stage, p->n_stages);
    for (size_t j = 0; j < p->n_stages; j++)
        then->stages[j].name = p->stages[j].name;
    draw_round(p, i, shots, more);
    math_blocks_add(a, &p->blocks, more, p->n_stages, &then->blocks);
    pressure_drop_fill_stages(then);
    pressure_drop_scatter(then);
    pressure_drop_estimate_all(then);
}

bool pressure_drop_scatter_known(const struct pressure_drop *p)
{
    return isfinite(p->shot_sd) && isfinite(p->shot_relative);
}

double pressure_drop_promise(const struct pressure_drop *p, int shots)
{
    double half[DRAWS];
    if (!pressure_drop_scatter_known(p) || !(p->visit_dof > 0.0))
        return PL_NAN;
    struct arena *a = arena_new();
    struct arena_mark mark = arena_mark(a);
    for (size_t i = 0; i < DRAWS; i++) {
        struct pressure_drop then;
        follow(p, a, i, shots, &then);
        const struct pressure_drop_stage *s = &then.stages[then.deciding];
        half[i] = (s->high - s->low) / 2.0;
        arena_reset(a, mark);
    }
    arena_free(a);
    return math_promise(half, DRAWS);
}

static double share_decided(const struct pressure_drop *p, double limit, int shots)
{
    size_t decided = 0;
    struct arena *a = arena_new();
    struct arena_mark mark = arena_mark(a);
    for (size_t i = 0; i < DRAWS; i++) {
        struct pressure_drop then;
        follow(p, a, i, shots, &then);
        decided += then.use_high <= limit || then.use_low > limit;
        arena_reset(a, mark);
    }
    arena_free(a);
    return (double)decided / DRAWS;
}

int pressure_drop_shots_to_decide(const struct pressure_drop *p, double limit)
{
    if (isnan(p->use) || p->stages[p->deciding].at_limit || !pressure_drop_scatter_known(p))
        return -1;
    for (size_t i = 0; math_shots(i) > 0; i++)
        if (share_decided(p, limit, math_shots(i)) >= MATH_DECIDED)
            return math_shots(i);
    return -1;
}
