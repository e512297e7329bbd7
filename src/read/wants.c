/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "fold.h"
#include "header.h"

/* Columns that every study accepts. */
static const struct {
    struct column_spec spec;
    enum role role;
} common[] = {
    {{"shot", "shot no|shot number|shot nr|shot num|shot id|shot #|#|cycle no|cycle number",
      DIM_TEXT, 0, 0.0, 0.0, "number of the shot; gives the order in time"},
     ROLE_SHOT},
    {{"exclude", "excluded|leave out|left out|omit", DIM_TEXT, 0, 0.0, 0.0,
      "why the row is left out; empty keeps it"},
     ROLE_EXCLUDE},
    {{"excluded_by", "excluded by", DIM_TEXT, 0, 0.0, 0.0, "who left the row out"},
     ROLE_EXCLUDED_BY},
    {{"note", "notes|comment|comments|remark|remarks", DIM_TEXT, 0, 0.0, 0.0, "anything"},
     ROLE_NOTE},
    {{"defect", "defects|flaw|flaws|visual defect|visual defects", DIM_TEXT, 0, 0.0, 0.0,
      "what is wrong with the parts; empty, ok, none, good, no, 0 and - mean nothing"},
     ROLE_DEFECT},
    {{"cavity", "cav|cavity no|cavity number|cavity nr|cavity #|cav no|cav nr", DIM_TEXT, 0, 0.0,
      0.0, "number of the cavity, where every cavity has a row of its own"},
     ROLE_CAVITY},
};

const struct column_spec *read_common_column(const char *name)
{
    for (size_t i = 0; i < sizeof common / sizeof common[0]; i++)
        if (strcmp(common[i].spec.name, name) == 0)
            return &common[i].spec;
    return NULL;
}

static void add_name(struct arena *a, struct wants *w, size_t want, const char *name, size_t n,
                     bool mapped, bool own)
{
    const char *folded = fold_name(a, name, n);
    for (size_t i = 0; i < w->n_names; i++)
        if (w->names[i].want == want && w->names[i].mapped == mapped &&
            strcmp(w->names[i].folded, folded) == 0)
            return;
    if (folded[0] != '\0')
        *ARENA_PUSH(a, w->names, w->n_names, w->cap_names) =
            (struct want_name){folded, want, mapped, own};
}

static void add_names(struct arena *a, struct wants *w, size_t want)
{
    const struct column_spec *spec = w->items[want].spec;
    add_name(a, w, want, spec->name, strlen(spec->name), false, true);
    for (const char *s = spec->synonyms; s != NULL && *s != '\0';) {
        size_t n = strcspn(s, "|");
        add_name(a, w, want, s, n, false, false);
        s += n + (s[n] == '|');
    }
    if ((spec->flags & COLUMN_BASIS) && strcmp(spec->name, "transfer_pressure") == 0) {
        static const char *const also[] = {"melt pressure", "hydraulic pressure"};
        for (size_t i = 0; i < PL_COUNT(also); i++)
            add_name(a, w, want, also[i], strlen(also[i]), false, true);
    }
}

static bool is_listed(const struct wants *w, const char *name)
{
    for (size_t i = 0; i < w->n; i++)
        if (text_same_word(w->items[i].spec->name, name))
            return true;
    return false;
}

static enum role role_of(const char *name)
{
    for (size_t i = 0; i < PL_COUNT(common); i++)
        if (strcmp(common[i].spec.name, name) == 0)
            return common[i].role;
    return ROLE_VALUE;
}

static const struct column_spec *dimension_spec(struct arena *a, const struct fact *f)
{
    struct column_spec *spec = ARENA_NEW(a, struct column_spec);
    *spec = (struct column_spec){
        .name = f->key,
        .dimension = f->dimension,
        .flags = COLUMN_PER_CAVITY | COLUMN_CENSORED,
        .low = -PL_INF,
        .high = PL_INF,
        .purpose = "measured characteristic of [dimensions]",
    };
    return spec;
}

/* [columns] STUDY.COLUMN = header */
static void add_mapped(struct arena *a, struct wants *w, const char *study,
                       const struct facts *facts)
{
    size_t n = strlen(study);
    for (size_t i = 0; facts != NULL && i < facts->n; i++) {
        const struct fact *f = &facts->items[i];
        if (strcmp(f->section, "columns") != 0 || strncmp(f->key, study, n) != 0 ||
            f->key[n] != '.')
            continue;
        for (size_t j = 0; j < w->n; j++)
            if (text_same_word(w->items[j].spec->name, f->key + n + 1)) {
                w->items[j].mapped = f->text;
                add_name(a, w, j, f->text, strlen(f->text), true, false);
            }
    }
}

void wants_fill(struct arena *a, const struct study_input *study, const struct facts *facts,
                struct wants *out)
{
    size_t most = study->n_columns + PL_COUNT(common) + (facts != NULL ? facts->n : 0);
    *out = (struct wants){.items = ARENA_ARRAY(a, struct want, most)};
    for (size_t i = 0; i < study->n_columns; i++) {
        const struct column_spec *spec = &study->columns[i];
        out->items[out->n++] = (struct want){spec, role_of(spec->name), NULL};
        out->n_required += (spec->flags & COLUMN_REQUIRED) != 0;
    }
    for (size_t i = 0; facts != NULL && i < facts->n; i++)
        if (strcmp(facts->items[i].section, "dimensions") == 0 &&
            !is_listed(out, facts->items[i].key))
            out->items[out->n++] =
                (struct want){dimension_spec(a, &facts->items[i]), ROLE_VALUE, NULL};
    for (size_t i = 0; i < PL_COUNT(common); i++)
        if (!is_listed(out, common[i].spec.name))
            out->items[out->n++] = (struct want){&common[i].spec, common[i].role, NULL};
    for (size_t i = 0; i < out->n; i++)
        add_names(a, out, i);
    add_mapped(a, out, study->name, facts);
}
