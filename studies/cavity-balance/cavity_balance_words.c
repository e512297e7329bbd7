/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences and next shots, in the units people entered. */
#include <math.h>

#include "cavity_balance.h"

#define USUAL_FILL 0.95 /* common practice, no published source */
#define NAMED_MOST 8
#define SURE 0.05 /* of the test between sets of equal paths */

const char *cavity_balance_mass(const struct cavity_balance *b, double v, double half_width)
{
    return value_text(b->a, b->trial->display, DIM_MASS, v, half_width);
}

const char *cavity_balance_share(const struct cavity_balance *b, double v, double half_width)
{
    return value_text(b->a, b->trial->display, DIM_RATIO, v, half_width);
}

const char *cavity_balance_span(const struct cavity_balance *b, double low, double high)
{
    return interval_text(b->a, b->trial->display, DIM_RATIO, low, high);
}

const char *cavity_balance_confidence(const struct cavity_balance *b)
{
    return cavity_balance_share(b, b->confidence, PL_NAN);
}

const char *cavity_balance_at_fill(const struct cavity_balance *b,
                                   const struct cavity_balance_level *l)
{
    return isnan(l->fill)
               ? ""
               : arena_printf(b->a, "at %s fill", cavity_balance_share(b, l->fill, PL_NAN));
}

/* ---- the decision -------------------------------------------------------------------------------
 */

/* "cavity 4 weighs 1.8 % less than cavity 2" */
static const char *pair_text(const struct cavity_balance *b)
{
    const struct imbalance *i = &b->at->i;
    double half = isnan(i->high) ? PL_NAN : (i->high - i->low) / 2.0;
    if (!(i->range > 0.0))
        return "all cavities weigh the same";
    return arena_printf(b->a, "cavity %d weighs %s less than cavity %d",
                        b->data.number[i->lightest], cavity_balance_share(b, i->value, half),
                        b->data.number[i->heaviest]);
}

static const char *fill_first(const struct cavity_balance *b)
{
    const char *s = cavity_balance_at_fill(b, b->at);
    return *s == '\0' ? "" : arena_printf(b->a, "%s ", s);
}

static void add_lead(const struct cavity_balance *b, struct text *t)
{
    const struct imbalance *i = &b->at->i;
    const char *limit = cavity_balance_share(b, b->max, PL_NAN), *pair = pair_text(b);
    if (isnan(i->high)) {
        text_addf(t,
                  "How evenly the cavities fill is not shown by a single complete shot: in it %s, "
                  "but nothing tells how sure that is. Weigh %d shots.",
                  pair, CAVITY_BALANCE_SHOTS);
        return;
    }
    const char *span = cavity_balance_span(b, i->low, i->high);
    const char *level = cavity_balance_confidence(b);
    if (i->high <= b->max)
        text_addf(t,
                  "The cavities fill evenly enough%s: %s%s (%s interval %s), and up to %s is "
                  "allowed.",
                  isnan(b->at->fullness) ? ", provided these parts were short" : "", fill_first(b),
                  pair, level, span, limit);
    else if (i->low > b->max)
        text_addf(t,
                  "Mend the mold before a window is set on it: %s%s (%s interval %s), and at most "
                  "%s is allowed.",
                  fill_first(b), pair, level, span, limit);
    else
        text_addf(t,
                  "Whether the cavities fill evenly enough is not shown: %s%s, and the %s "
                  "interval, %s, reaches both sides of the %s allowed.",
                  fill_first(b), pair, level, span, limit);
}

/* "cavities 2, 3 and 5 are light"; the number of cavities on that side. */
static size_t list_cavities(const struct cavity_balance *b, int side, const char *what, bool first,
                            struct text *t)
{
    size_t n = 0, left;
    for (size_t c = 0; c < b->data.cavities; c++)
        n += b->at->m.side[c] == side;
    if (n == 0)
        return 0;
    if (n > NAMED_MOST) { /* the table names them all */
        text_addf(t, "%s %zu cavities are %s", first ? "" : ",", n, what);
        return n;
    }
    text_addf(t, "%s%s ", first ? " C" : ", c", n > 1 ? "avities" : "avity");
    left = n;
    for (size_t c = 0; c < b->data.cavities; c++)
        if (b->at->m.side[c] == side) {
            text_addf(t, "%s%d", left == n ? "" : left > 1 ? ", " : " and ", b->data.number[c]);
            left--;
        }
    text_addf(t, " %s %s", n > 1 ? "are" : "is", what);
    return n;
}

/* The larger share says where to look; whether it is more than chance, the test says. */
static void add_paths(const struct cavity_balance *b, struct text *t)
{
    const struct anova_one_way *r = &b->paths.r;
    const char *between = cavity_balance_share(b, r->r_squared, 0.1);
    const char *within = cavity_balance_share(b, 1.0 - r->r_squared, 0.1);
    if (r->p < SURE)
        text_addf(t,
                  " %s of the differences lie between the sets of equal paths: look at the runner "
                  "first, at melt that was sheared more on one side of a turn.",
                  between);
    else if (r->r_squared > 0.5)
        text_addf(t,
                  " %s of the differences lie between the sets of equal paths, but so few cavities "
                  "do not show that the paths are the cause (p = %s): look at the runner and at "
                  "the gates, vents and cooling of these cavities alike.",
                  between, number_text(b->a, r->p, 2));
    else
        text_addf(t,
                  " %s of the differences lie within the sets of equal paths, and these cavities "
                  "do not show a difference between the sets (p = %s): look first at the gates, "
                  "the vents, the cut dimensions and the cooling of these cavities.",
                  within, number_text(b->a, r->p, 2));
}

/* Which cavities stand off the mean, and where to look. */
static void add_places(const struct cavity_balance *b, struct text *t)
{
    const struct anom *m = &b->at->m;
    const struct cavity_balance_paths *p = &b->paths;
    if (m->n_outside == 0)
        return;
    size_t light = list_cavities(b, -1, "lighter than the mean of all", true, t);
    list_cavities(b, 1, light > 0 ? "heavier" : "heavier than the mean of all", light == 0, t);
    text_add(t, ".");
    if (b->at->i.high <= fmin(b->aim, b->max))
        return;
    if (p->n > 0 && p->testable) {
        add_paths(b, t);
        return;
    }
    text_addf(t,
              " Look first at the gates, vents and cooling of the %s cavities, and at their "
              "branches of the runner.",
              light > 0 ? "light" : "heavy");
}

static void add_trend(const struct cavity_balance *b, struct text *t)
{
    if (!(b->trend_low > 0.0) && !(b->trend_high < 0.0))
        return;
    double half = (b->trend_high - b->trend_low) / 2.0;
    text_addf(t,
              " From %s to %s fill the difference between the two %s by %s of the weight for every "
              "%s of fill.",
              cavity_balance_share(b, b->trend_from, PL_NAN),
              cavity_balance_share(b, b->trend_to, PL_NAN), b->trend > 0.0 ? "grows" : "shrinks",
              cavity_balance_share(b, 0.1 * fabs(b->trend), 0.1 * half),
              cavity_balance_share(b, 0.1, PL_NAN));
}

void cavity_balance_decision(struct cavity_balance *b)
{
    struct text t;
    text_init(&t, b->a);
    if (b->at == NULL) {
        b->f->decision =
            b->data.cavities < 2
                ? "There are no weights of two cavities or more: nothing can be said about the "
                  "balance. Weigh every cavity by itself."
                : "There is no shot with a weight of every cavity: nothing can be said about the "
                  "balance.";
        return;
    }
    add_lead(b, &t);
    if (b->at->i.high <= b->max && b->at->i.high > b->aim)
        text_addf(&t, " The %s aimed at %s.", cavity_balance_share(b, b->aim, PL_NAN),
                  b->at->i.low > b->aim ? "is missed" : "is not shown");
    if (b->at->packed)
        text_add(&t, " But these parts are full: their weight does not tell how the cavities fill. "
                     "Run it again with short shots, hold off.");
    add_places(b, &t);
    add_trend(b, &t);
    b->f->decision = t.s;
}

/* ---- next shots
 * ----------------------------------------------------------------------------------- */

static void ask(struct cavity_balance *b, double fill, int shots, const char *why, bool predict)
{
    const struct cavity_balance_level *l = b->at;
    struct next_shot *s = finding_next_shot(b->f);
    s->setting = "fill";
    s->dimension = DIM_RATIO;
    s->at = fill;
    s->shots = shots;
    s->series = "every cavity weighed by itself";
    s->why = why;
    if (!predict)
        return;
    struct anova_two_way more = l->t;
    struct imbalance then;
    more.columns += (size_t)shots;
    more.df_residual = more.df_rows * ((double)more.columns - 1.0);
    math_imbalance(&more, b->data.step, b->confidence, &then);
    s->half_width_now = (l->i.high - l->i.low) / 2.0;
    s->half_width_then = (then.high - then.low) / 2.0;
    s->promise = arena_printf(b->a, "+-%s becomes about +-%s",
                              cavity_balance_share(b, s->half_width_now, s->half_width_then),
                              cavity_balance_share(b, s->half_width_then, s->half_width_then));
}

static int shots_for(const struct cavity_balance *b, const char *criterion)
{
    for (size_t i = 0; i < b->f->n_criteria; i++)
        if (text_same_word(b->f->criteria[i].name, criterion))
            return b->f->criteria[i].shots_to_decide;
    return 0;
}

void cavity_balance_next_shots(struct cavity_balance *b)
{
    const struct cavity_balance_level *l = b->at;
    if (l == NULL || l->packed) {
        ask(b, USUAL_FILL, CAVITY_BALANCE_SHOTS,
            l == NULL ? "there is no usable shot yet"
                      : "the parts were full; how the cavities fill shows in short shots",
            false);
        return;
    }
    double fill = !isnan(l->fill) ? l->fill : USUAL_FILL;
    int max = shots_for(b, "imbalance_max"), aim = shots_for(b, "imbalance_aim");
    if (l->n < CAVITY_BALANCE_FEW)
        ask(b, fill, CAVITY_BALANCE_SHOTS - (int)l->n, "too few shots to know their scatter",
            false);
    else if (max > 0)
        ask(b, fill, max,
            arena_printf(b->a, "to show on which side of %s the imbalance lies",
                         cavity_balance_share(b, b->max, PL_NAN)),
            true);
    else if (aim > 0 && l->i.high <= b->max)
        ask(b, fill, aim,
            arena_printf(b->a, "to show on which side of the %s aimed at the imbalance lies",
                         cavity_balance_share(b, b->aim, PL_NAN)),
            true);
}
