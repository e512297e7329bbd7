/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The criterion: is the weight flat beyond the freeze time? */
#include <math.h>

#include "gate_freeze.h"

extern const struct study study_gate_freeze;

static const char *criterion_sentence(const struct gate_freeze *g, const struct math_blocks *b,
                                      const struct plateau_answer *r, enum verdict v)
{
    const char *delta = gate_freeze_mass(g, r->tolerance, r->tolerance / 10.0);
    const char *rise = gate_freeze_mass(g, r->rise, r->tolerance / 10.0);
    if (b->n_groups < 2)
        return "there is only one hold time: run shorter and longer ones";
    const char *from = gate_freeze_time(g, b->group_x[r->rise_from], PL_NAN);
    const char *to = gate_freeze_time(g, b->group_x[b->n_groups - 1], PL_NAN);
    if (v == VERDICT_MET)
        return arena_printf(g->a,
                            "between %s and %s the weight changes by less than %s, shown by two "
                            "one-sided tests at 5 %%",
                            from, to, delta);
    if (v == VERDICT_NOT_MET)
        return arena_printf(g->a, "between %s and %s the weight changes by %s, more than %s", from,
                            to, rise, delta);
    if (r->state == PLATEAU_UNDECIDED)
        return "a straight line describes the weights as well as a plateau does";
    if (r->state == PLATEAU_OPEN)
        return "fewer than two tested hold times lie beyond the interval of the freeze time";
    if (!(r->rise_se > 0.0) && r->state == PLATEAU_NOT_REACHED)
        return arena_printf(
            g->a,
            "between %s and %s the weight changes by %s, more than %s, but with one "
            "shot at each hold time its scatter is not known",
            from, to, rise, delta);
    if (!(r->rise_se > 0.0))
        return "with one shot at each hold time nothing shows that the plateau is flat";
    return arena_printf(
        g->a,
        "between %s and %s the weight changes by %s; the shots do not show whether that "
        "stays within %s",
        from, to, rise, delta);
}

static int shots_to_decide(const struct gate_freeze *g, const struct math_blocks *b,
                           const struct plateau_answer *r, bool one_cavity, const char **sentence)
{
    struct plateau_options o = gate_freeze_options(g, one_cavity);
    return study_plateau_shots(g->a, b, &o, r, sentence);
}

void gate_freeze_criterion(struct gate_freeze *g, const struct math_blocks *b,
                           const struct plateau_answer *r, int cavity)
{
    const struct fact *fact = facts_find(&g->trial->facts, "criteria", "freeze_tolerance");
    struct criterion *c = finding_criterion(g->f, "freeze_tolerance");
    c->title = cavity > 0 ? arena_printf(g->a, "cavity %d: part weight flat beyond its freeze time",
                                         cavity)
                          : "part weight flat beyond the freeze time";
    c->dimension = DIM_MASS;
    c->limit_wording = g->tolerance_wording;
    c->limit = r->tolerance;
    c->value = r->rise;
    c->low = r->rise_low;
    c->high = r->rise_high;
    c->level = isnan(r->rise_low) ? PL_NAN : 0.90; /* two one-sided tests at 5 % */
    c->sides = 2;
    c->origin = fact != NULL && fact->given ? 'G' : study_gate_freeze.criteria[0].origin;
    c->verdict = study_plateau_verdict(r);
    c->because = criterion_sentence(g, b, r, c->verdict);
    bool more_shots_help = r->state == PLATEAU_FOUND || r->state == PLATEAU_BRACKET_ONLY ||
                           r->state == PLATEAU_BEFORE_FIRST;
    bool single = !(r->shot_dof > 0.0) && b->n_groups > 1;
    c->shots_to_decide = c->verdict != VERDICT_NOT_SHOWN ? 0
                         : single                        ? SHOTS_NOT_KNOWN
                         : more_shots_help ? shots_to_decide(g, b, r, cavity > 0, &c->because)
                                           : 0; /* the sentence says what would */
    if (c->verdict != VERDICT_NOT_SHOWN || b->n_groups < 2)
        return;
    const char *first = gate_freeze_first_cause(g);
    if (first != NULL)
        c->because = arena_printf(g->a, "%s; first %s", c->because, first);
    else if (r->state == PLATEAU_UNDECIDED || r->state == PLATEAU_OPEN)
        c->because = arena_printf(g->a, "%s; longer hold times would show it", c->because);
}
