/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "study_internal.h"

static const struct flag_spec flags[] = {
    {"drift", FLAG_DOUBT,
     "Something moved during the study beside the setting: one setting run twice gave two results, "
     "or what the setting does not explain rises or falls with time. Where nothing tells how well "
     "settings repeat, scatter from setting to setting as large as that from shot to shot is "
     "allowed for.",
     "Wait until the press is settled (ten or more cycles after every change, melt and mold at "
     "temperature), then run the study again in mixed order, with the first setting again at the "
     "end."},
    {"first-shots", FLAG_DOUBT,
     "The first shot after a change of setting differs from those that follow: the press had not "
     "settled.",
     "Throw away the first shots after each change of setting before keeping shots."},
    {"hydraulic-or-melt", FLAG_DOUBT,
     "Two pressures that should be alike differ by about the press's intensification ratio, or the "
     "press's limit is more than any press gives: one of them seems to be hydraulic and the other "
     "melt pressure. Shares of the available pressure are then wrong by that ratio, and a mold "
     "that takes all the press has can look easy to fill.",
     "Find out from the press maker's data what the display shows. Write hydraulic or melt into "
     "the header of the column, and say in [press] pressure_basis what the press's limits are."},
    {"minutes-for-seconds", FLAG_DOUBT,
     "Two times that should be alike differ by a factor of about 60: one of them seems to be in "
     "minutes and the other in seconds.",
     "Write the unit behind the name in the header, or behind the value, and correct the value "
     "that is wrong."},
    {"one-direction", FLAG_DOUBT,
     "The setting was only raised, or only lowered, from the first condition to the last, or so "
     "nearly that it comes to the same, and none was run again. Whatever warms up or wears in "
     "during the study then looks like an effect of the setting, and nothing in the figures can "
     "tell the two apart: the verdict holds only if the press did not drift.",
     "Run the first setting once more at the end: if it gives the same, nothing drifted. Next "
     "time, run the settings in mixed order."},
    {"outlier", FLAG_DOUBT,
     "One shot stands off from the others of its condition by more than chance allows (level 0.5 % "
     "for the whole study). It is kept.",
     "Look at the part and at the record of the shot. Leave it out only for a cause, and write the "
     "cause in the column `exclude`."},
    {"peak-below-transfer", FLAG_DOUBT,
     "The highest pressure of a shot is lower than its pressure at transfer, by more than two "
     "readings of one pressure differ. That cannot be: the columns are exchanged, one of the two "
     "is from another shot, or one is hydraulic and the other melt pressure.",
     "Compare both columns with the press's own record of the shot, and correct the one that is "
     "wrong."},
    {"psi-for-bar", FLAG_DOUBT,
     "Two pressures that should be alike differ by a factor of about 14.5, which is a bar in psi: "
     "one of them seems to be written in psi under bar, or the other way round. A whole file in "
     "the wrong unit is noticed only where another file, another row or a value in trial.ini can "
     "tell.",
     "Look at the unit on the press's display, and write it into the header of the column."},
    {"repeated-row", FLAG_DOUBT,
     "The same rows seem to stand in the data twice: a shot number or a time stamp occurs again "
     "with all its readings, or four or more rows in a row occur again, too exactly for chance on "
     "this scale. Counted twice, shots make the result look more certain than it is. Single equal "
     "shots are normal and are not flagged.",
     "Compare the lines with the press log. Delete the copy, or leave it out with a reason in the "
     "column `exclude`."},
    {"spread-differs", FLAG_DOUBT,
     "The shots of one condition scatter at least three times as much as those of the others, and "
     "by more than chance allows (level 0.5 %). The press or the mold did not behave there as in "
     "the rest of the study: a check ring that does not seat, a limit that is just reached, a "
     "gate that freezes now and then, parts that were mixed up.",
     "Look at the press log and at the parts of that condition, and run it again. If the scatter "
     "stays, the process is not stable at that setting: keep the window away from it."},
    {"stray-shot", FLAG_DOUBT,
     "One shot fits the neighbouring condition better than its own: it may have been run before "
     "the change took effect, or be written in the wrong row.",
     "Check the row against the press log. The shot is kept."},
    {"unit-impossible", FLAG_STOP,
     "A whole column contradicts trial.ini by the factor between two units, and as it is written "
     "it "
     "cannot be: a time of the cycle that is longer than the whole cycle, parts that weigh a "
     "thousand times what a part weighs. One of the two is in the wrong unit. No limit is taken "
     "from the study until that is mended.",
     "Look at the unit behind the name in the header, and at the value in trial.ini; correct the "
     "one that is wrong."},
    {"weight-off", FLAG_DOUBT,
     "The weights do not agree with [mold] part_weight, neither as one part nor as all parts of a "
     "shot.",
     "Weigh one part without the runner and compare it with both. Correct the unit in the header, "
     "or part_weight in trial.ini."},
};

const struct flag_spec *study_flags(size_t *n)
{
    *n = PL_COUNT(flags);
    return flags;
}

enum flag_grade suspect_grade(const char *code)
{
    return study_grade(flags, PL_COUNT(flags), code);
}

/* Its name stands with blanks in the series. */
static const char *measured_column(const struct suspect *s)
{
    const struct finding *f = s->f;
    if (s->study->measured == NULL || strcmp(s->study->measured, "*") != 0)
        return s->study->measured;
    for (size_t i = 0; f->n_conditions > 0 && i < s->table->n_columns; i++) {
        const char *name = s->table->columns[i].spec->name, *series = f->conditions[0].series;
        if (series != NULL && strcmp(suspect_name(s, name), series) == 0)
            return name;
    }
    return NULL;
}

/* A study in a wrong unit bounds nothing, however sure its figures look. */
static void withdraw(struct finding *f)
{
    for (size_t i = 0; i < f->n_flags; i++) {
        if (strcmp(f->flags[i].code, "unit-impossible") != 0)
            continue;
        f->n_bounds = 0;
        f->n_next_shots = 0;
        f->verdict = verdict_worst(f->verdict, VERDICT_NOT_SHOWN);
        f->decision = arena_printf(f->arena,
                                   "A unit is wrong, so no limit is taken from this study: %s. "
                                   "Correct it and analyze again.",
                                   f->flags[i].text);
        return;
    }
}

enum errc study_analyze(const struct study *study, const struct trial *trial,
                        const struct table *table, struct finding *out, struct error *e)
{
    TRY(study->analyze(trial, table, out, e));
    struct suspect s = {study, trial, table, out, out->arena, NULL};
    struct suspect_conditions k;
    s.measured = measured_column(&s);
    suspect_repeated(&s);
    suspect_rows(&s);
    suspect_files(&s);
    suspect_weight(&s);
    if (suspect_conditions(&s, &k)) {
        suspect_spread(&s, &k);
        suspect_order(&s, &k);
    }
    withdraw(out);
    return ERR_NONE;
}

enum errc study_run(const struct study *study, const struct trial *trial, const struct table *table,
                    struct finding *out, struct error *e)
{
    TRY(study_analyze(study, trial, table, out, e));
    const struct suspect s = {study, trial, table, out, out->arena, NULL};
    return study_other_answers(&s, e);
}
