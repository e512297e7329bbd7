/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sections of trial.ini whose keys are names of studies and columns: [studies], [files],
 * [columns], [units].
 */
#include "ini_facts.h"
#include "units.h"

const struct study_input *ini_study_find(const struct read_request *q, const char *name,
                                         size_t length)
{
    for (size_t i = 0; i < q->n_studies; i++)
        if (ini_same_name_n(name, length, q->studies[i].name))
            return &q->studies[i];
    return NULL;
}

const char *ini_study_list(struct arena *a, const struct read_request *q)
{
    const char **names = ARENA_ARRAY(a, const char *, q->n_studies);
    for (size_t i = 0; i < q->n_studies; i++)
        names[i] = q->studies[i].name;
    return ini_word_list(a, names, q->n_studies);
}

static void unknown_study(struct ini_reader *r, size_t length)
{
    const struct read_request *q = r->request;
    const char *name = arena_copy_n(r->arena, r->entry->key, length);
    const char *shown = text_harmless(r->arena, name, length);
    const char **names = ARENA_ARRAY(r->arena, const char *, q->n_studies);
    for (size_t i = 0; i < q->n_studies; i++)
        names[i] = q->studies[i].name;
    if (ini_is_study_word(name))
        ini_key_trouble(
            r, "study-not-in-this-version",
            arena_printf(r->arena, "this version has no study `%s`", shown),
            arena_printf(r->arena, "one of its studies: %s", ini_study_list(r->arena, q)),
            "take the line out: its file is not read");
    else
        ini_key_trouble(r, "unknown-study", arena_printf(r->arena, "`%s` is not a study", shown),
                        ini_study_list(r->arena, q),
                        ini_did_you_mean(r, name, names, q->n_studies));
}

void ini_read_study_files(struct ini_reader *r)
{
    const struct study_input *s = ini_study_find(r->request, r->entry->key, strlen(r->entry->key));
    if (s == NULL)
        unknown_study(r, strlen(r->entry->key));
    else if (!ini_is_duplicate(r, s->name))
        ini_add_text(r, s->name, r->entry->value); /* a path: kept as it stands */
}

void ini_read_study_dialect(struct ini_reader *r, const char *dot)
{
    size_t length = (size_t)(dot - r->entry->key);
    const struct study_input *s = ini_study_find(r->request, r->entry->key, length);
    static const char *const words[] = {"decimal", "separator", "encoding"};
    const char *word = NULL;
    for (size_t i = 0; i < PL_COUNT(words); i++)
        if (ini_same_name(dot + 1, words[i]))
            word = words[i];
    if (s == NULL) {
        unknown_study(r, length);
        return;
    }
    if (word == NULL) {
        ini_key_trouble(r, "unknown-key",
                        arena_printf(r->arena, "`%s` is not a key of [files]",
                                     text_harmless(r->arena, dot + 1, strlen(dot + 1))),
                        "decimal, separator, encoding",
                        ini_did_you_mean(r, dot + 1, words, PL_COUNT(words)));
        return;
    }
    const char *key = arena_printf(r->arena, "%s.%s", s->name, word);
    if (ini_is_duplicate(r, key))
        return;
    struct ini_ask ask = ini_ask_for(r, key, "comma");
    struct ini_value v;
    struct ini_trouble t;
    if (ini_read_word(&ask, ini_rule_find("files", word), &v, &t))
        ini_add_text(r, key, v.text);
    else
        ini_value_trouble(r, &t);
}

/* A column of the study, with its dimension: its own, one that every study has, or a name of
 * [dimensions]. NULL when there is none. */
static const char *column_find(struct ini_reader *r, const struct study_input *s, const char *name,
                               enum dimension *d)
{
    for (size_t i = 0; i < s->n_columns; i++)
        if (ini_same_name(s->columns[i].name, name)) {
            *d = s->columns[i].dimension;
            return s->columns[i].name;
        }
    for (size_t i = 0; i < PL_COUNT(ini_common_columns); i++)
        if (ini_same_name(ini_common_columns[i], name)) {
            *d = DIM_TEXT;
            return ini_common_columns[i];
        }
    for (size_t i = 0; i < r->out->n; i++)
        if (strcmp(r->out->items[i].section, "dimensions") == 0 &&
            ini_same_name(r->out->items[i].key, name)) {
            *d = r->out->items[i].dimension;
            return r->out->items[i].key;
        }
    return NULL;
}

static void unknown_column(struct ini_reader *r, const struct study_input *s, const char *name)
{
    const char **names = ARENA_ARRAY(r->arena, const char *, s->n_columns + 6);
    size_t n = 0;
    for (size_t i = 0; i < s->n_columns; i++)
        names[n++] = s->columns[i].name;
    for (size_t i = 0; i < PL_COUNT(ini_common_columns); i++)
        names[n++] = ini_common_columns[i];
    ini_key_trouble(r, "unknown-column",
                    arena_printf(r->arena, "the study %s has no column `%s`", s->name,
                                 text_harmless(r->arena, name, strlen(name))),
                    ini_word_list(r->arena, names, n), ini_did_you_mean(r, name, names, n));
}

static void read_unit(struct ini_reader *r, const char *key, enum dimension d)
{
    const char *value = r->entry->value;
    struct unit_result u = unit_find_for(d, value, strlen(value));
    const char *shown = text_harmless(r->arena, value, strlen(value));
    bool speed = d == DIM_SPEED && u.unit != NULL &&
                 (u.unit->dimension == DIM_VOLUME_RATE || u.unit->dimension == DIM_RATIO);
    if (u.answer == UNIT_OK || speed)
        ini_add_text(r, key, shown);
    else if (d == DIM_TEXT || d == DIM_COUNT)
        ini_whole_value_trouble(r, "unit-not-wanted",
                                arena_printf(r->arena, "the column `%s` has no unit", key), NULL,
                                "take the line out");
    else if (u.answer == UNIT_ASK)
        ini_whole_value_trouble(r, "unit-has-two-readings", u.question, unit_accepted(d), NULL);
    else if (u.unit != NULL) /* of another dimension */
        ini_whole_value_trouble(
            r, "unit-of-other-kind",
            arena_printf(r->arena, "`%s` is a unit of %s; the column needs one of %s", shown,
                         dimension_name(u.unit->dimension), dimension_name(d)),
            unit_accepted(d), NULL);
    else
        ini_whole_value_trouble(r, "unit-not-known",
                                arena_printf(r->arena, "`%s` is not a unit known here", shown),
                                unit_accepted(d), NULL);
}

void ini_read_column_key(struct ini_reader *r, const char *dot)
{
    if (dot == NULL) {
        ini_key_trouble(r, "no-study-in-key",
                        arena_printf(r->arena, "`%s` does not say which study",
                                     text_harmless(r->arena, r->entry->key, strlen(r->entry->key))),
                        arena_printf(r->arena, "STUDY.COLUMN, the study one of: %s",
                                     ini_study_list(r->arena, r->request)),
                        "put the study's name and a dot before the column's name");
        return;
    }
    size_t length = (size_t)(dot - r->entry->key);
    const struct study_input *s = ini_study_find(r->request, r->entry->key, length);
    if (s == NULL) {
        unknown_study(r, length);
        return;
    }
    enum dimension d = DIM_TEXT;
    const char *column = column_find(r, s, dot + 1, &d);
    if (column == NULL) {
        unknown_column(r, s, dot + 1);
        return;
    }
    const char *key = arena_printf(r->arena, "%s.%s", s->name, column);
    if (ini_is_duplicate(r, key))
        return;
    if (strcmp(r->entry->section, "units") == 0)
        read_unit(r, key, d);
    else
        ini_add_text(r, key, r->entry->value); /* matched against headers: kept as it stands */
}
