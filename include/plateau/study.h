/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * study: what a module under studies/ exports. One const record per study; everything else
 * (help, synonyms, entry tables, explain texts, contract test) is made from it.
 */
#ifndef PLATEAU_STUDY_H
#define PLATEAU_STUDY_H

#include "plateau/base.h"
#include "plateau/finding.h"
#include "plateau/read.h"

struct study {
    const char *name;    /* folder, file stem, record: "gate-freeze" */
    const char *title;   /* "Gate freeze" */
    const char *purpose; /* one line */
    enum study_question question;
    const char *method;  /* for the report: what is computed and after whom, a few sentences */
    const char *setting; /* the varied setting's column, "hold_time" */
    const struct column_spec *columns;
    size_t n_columns;
    const struct criterion_spec *criteria;
    size_t n_criteria;
    const struct flag_spec *flags;
    size_t n_flags;
    size_t least_conditions, least_shots; /* what the entry table asks for */
    /* Prints nothing, knows no output format, never reads another study's finding. The finding is
     * initialised; strings live in its arena. Fails only on ERR_INTERNAL, ERR_NUMERIC or on input
     * that cannot be a study at all (ERR_INPUT); "nothing to see" is a finding. */
    enum errc (*analyze)(const struct trial *trial, const struct table *table, struct finding *out,
                         struct error *e);
    const char *entry_table; /* the text of <name>.csv, built in */
};

/* All studies, alphabetical; from studies.def. */
const struct study *const *study_all(size_t *n);
const struct study *study_find(const char *name);

#endif
