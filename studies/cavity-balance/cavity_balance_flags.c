/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "cavity_balance.h"

#define ODD_LEVEL 0.005     /* false alarms, for the whole study */
#define SCALE_PER_LIMIT 0.1 /* a balance should read ten times finer; our convention */

const struct flag_spec cavity_balance_flags[CAVITY_BALANCE_FLAGS] = {
    {"coarse-scale", FLAG_DOUBT,
     "The balance steps by more than a tenth of the imbalance aimed at: differences between "
     "cavities drown in its steps, and shots look more alike than they are.",
     "Weigh on a finer balance, or weigh the parts of several shots of one cavity together."},
    {"equal-paths-do-not-fit", FLAG_DOUBT,
     "The sets in [mold] equal_paths do not name each of the weighed cavities, so the imbalance "
     "could not be shared out between the runner and the cavities.",
     "Write every cavity into exactly one set, blanks between the numbers and `;` between the "
     "sets."},
    {"fullness-not-known", FLAG_DOUBT,
     "Neither the column `fill` nor [mold] part_weight tells how full the parts were. Full and "
     "packed parts weigh alike even in a mold that fills unevenly.",
     "Weigh one full part and give it as part_weight in trial.ini, or add the column `fill`."},
    {"missing-cavity", FLAG_DOUBT,
     "A cavity of the mold has no weight at all. It may be blocked, or filling so late that no "
     "part comes out, and the imbalance of the mold is then larger than that of the others.",
     "Weigh every cavity. Say in a note which cavities are blocked on purpose."},
    {"outlier", FLAG_DOUBT,
     "In one shot a cavity, or the pattern of the cavities, stands off from the other shots by "
     "more "
     "than chance allows (level 0.5 % for the whole study). The shot is kept.",
     "Look at the part and at the record of the shot; parts of two cavities may have been "
     "exchanged. Leave the shot out only for a cause, and write the cause in the column "
     "`exclude`."},
    {"packed-parts", FLAG_DOUBT,
     "The fullest cavity weighs 99 % of a full part or more, or the fill is 100 %. What is weighed "
     "then is how the parts were packed, not how the cavities fill.",
     "Switch hold off and shorten the shot until the fullest cavity is just short, and run the "
     "study again. The press maker's instructions come first."},
    {"short-in-some-shots", FLAG_DOUBT,
     "A cavity has a weight in some shots and none in others. These shots are left out; if the "
     "cavity did not fill in them, the imbalance is larger than the figure.",
     "Look whether a part came out. If it did, weigh it; if not, look for a gate or a nozzle tip "
     "that freezes, a blocked vent, or a heater that cycles."},
    {"too-few-shots", FLAG_DOUBT,
     "There are fewer than three complete shots. Their scatter, and with it the interval of the "
     "imbalance, is hardly known or not at all.",
     "Weigh five or more shots in a row, after the press has settled."},
    {"too-little-data", FLAG_DOUBT, "No shot has the weights of two cavities or more.",
     "Weigh every cavity by itself: a column per cavity (`weight c1`, `weight c2`, ...), or a row "
     "per cavity with its number in the column `cavity`."},
};

struct flag *cavity_balance_flag(struct cavity_balance *b, const char *code, const char *file,
                                 long line, const char *text)
{
    return finding_flag(b->f, code, study_grade(cavity_balance_flags, CAVITY_BALANCE_FLAGS, code),
                        file, line, "%s", text);
}

static void check_cavities(struct cavity_balance *b)
{
    const struct cavity_balance_data *d = &b->data;
    double mold = facts_number(&b->trial->facts, "mold", "cavities", PL_NAN);
    for (size_t i = 0; i < d->n_empty; i++)
        cavity_balance_flag(
            b, "missing-cavity", NULL, 0,
            arena_printf(b->a, "cavity %d has a column but no weight", d->empty[i]));
    if (d->cavities + d->n_empty > 0 && mold > (double)(d->cavities + d->n_empty))
        cavity_balance_flag(b, "missing-cavity", NULL, 0,
                            arena_printf(b->a, "the mold has %.0f cavities, the table has %zu",
                                         mold, d->cavities + d->n_empty));
    for (size_t c = 0; c < d->cavities; c++)
        if (d->gaps[c] > 0)
            cavity_balance_flag(b, "short-in-some-shots", NULL, 0,
                                arena_printf(b->a, "cavity %d has no weight in %zu of %zu shots",
                                             d->number[c], d->gaps[c], d->shots));
}

static void check_fullness(struct cavity_balance *b)
{
    const struct cavity_balance_data *d = &b->data;
    if (!d->has_fill && isnan(b->part_weight)) {
        cavity_balance_flag(b, "fullness-not-known", NULL, 0,
                            "nothing tells whether the parts were short: there is neither a column "
                            "`fill` nor a part_weight");
        return;
    }
    for (size_t i = 0; i < d->n_levels; i++) {
        const struct cavity_balance_level *l = &d->level[i];
        if (!l->packed)
            continue;
        const char *file = cavity_balance_file(b, l->row[0]);
        long line = b->table->rows[l->row[0]].line;
        if (isnan(b->part_weight))
            cavity_balance_flag(b, "packed-parts", file, line,
                                arena_printf(b->a, "fill is %s from here on",
                                             cavity_balance_share(b, l->fill, PL_NAN)));
        else
            cavity_balance_flag(
                b, "packed-parts", file, line,
                arena_printf(b->a, "cavity %d weighs %s, %s of a full part",
                             d->number[l->i.heaviest],
                             cavity_balance_mass(b, l->i.largest, b->part_weight / 1000.0),
                             cavity_balance_share(b, l->fullness, 0.01)));
    }
}

static void check_scale(struct cavity_balance *b)
{
    double allowed = b->aim * b->at->i.largest;
    if (b->data.step > SCALE_PER_LIMIT * allowed)
        cavity_balance_flag(
            b, "coarse-scale", NULL, 0,
            arena_printf(b->a, "the weights step by %s; a tenth of the %s aimed at is %s",
                         cavity_balance_mass(b, b->data.step, PL_NAN),
                         cavity_balance_share(b, b->aim, PL_NAN),
                         cavity_balance_mass(b, SCALE_PER_LIMIT * allowed, 0.02 * allowed)));
}

static void flag_odd(struct cavity_balance *b, const struct cavity_balance_level *l,
                     const struct anova_odd *odd, const char *end)
{
    const struct table_row *row = &b->table->rows[l->row[odd->column]];
    double off = fabs(odd->distance);
    if (off > b->data.step * (1.0 + 1e-9))
        cavity_balance_flag(b, "outlier", cavity_balance_file(b, l->row[odd->column]), row->line,
                            arena_printf(b->a,
                                         "beside the other cavities, cavity %d weighs %s %s in "
                                         "this shot than in the others%s",
                                         b->data.number[odd->row],
                                         cavity_balance_mass(b, off, off / 10.0),
                                         odd->distance > 0.0 ? "more" : "less", end));
}

/* One weight alone, else a shot as a whole: half of the false alarms each. */
static void check_odd(struct cavity_balance *b)
{
    const struct cavity_balance_data *d = &b->data;
    double level = 0.5 * ODD_LEVEL / (double)d->n_levels, least = d->step * d->step / 12.0;
    for (size_t i = 0; i < d->n_levels; i++) {
        const struct cavity_balance_level *l = &d->level[i];
        struct anova_odd odd;
        if (math_anova_odd(&l->t, level, least, &odd))
            flag_odd(b, l, &odd, "");
        else if (math_anova_odd_column(&l->t, level, least, &odd))
            flag_odd(b, l, &odd, "; the whole shot has another pattern than the others");
    }
}

void cavity_balance_raise_flags(struct cavity_balance *b)
{
    check_cavities(b);
    if (b->at == NULL) {
        cavity_balance_flag(b, "too-little-data", NULL, 0,
                            b->data.cavities < 2
                                ? "there are no weights of two cavities or more"
                                : study_no_rows(b->f, "no shot has a weight of every cavity"));
        return;
    }
    check_fullness(b);
    check_scale(b);
    check_odd(b);
    if (b->at->n < CAVITY_BALANCE_FEW)
        cavity_balance_flag(b, "too-few-shots", NULL, 0,
                            arena_printf(b->a, "%zu complete shot%s%s%s", b->at->n,
                                         b->at->n == 1 ? "" : "s", isnan(b->at->fill) ? "" : " ",
                                         cavity_balance_at_fill(b, b->at)));
}
