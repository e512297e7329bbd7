/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the tests of the table reader share: three studies, a way to give facts, and a table written
 * out as text so that two readings can be compared. */
#ifndef TESTS_READ_CASES_H
#define TESTS_READ_CASES_H

#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/read.h"

static const struct column_spec case_weight_columns[] = {
    {"hold_time", "holding time|pack time", DIM_TIME, COLUMN_REQUIRED | COLUMN_SETTING, 0.0, 3600.0,
     "hold time"},
    {"weight", "part weight|part wt", DIM_MASS,
     COLUMN_REQUIRED | COLUMN_PER_CAVITY | COLUMN_CENSORED, 1e-5, 1e6, "part weight"},
    {"cushion", "minimum cushion", DIM_LENGTH, 0, -10.0, 1000.0, "cushion"},
    {"repeat", "trial", DIM_COUNT, 0, 0.0, 1e6, "repeat"},
};
static const struct column_spec case_pressure_columns[] = {
    {"fill_time", "injection time", DIM_TIME, COLUMN_REQUIRED, 1e-3, 600.0, "fill time"},
    {"transfer_pressure", "pressure at transfer", DIM_PRESSURE, COLUMN_REQUIRED | COLUMN_BASIS, 0.1,
     500.0, "pressure at transfer"},
    {"injection_speed", "speed", DIM_SPEED, COLUMN_SETTING, 0.0, 5000.0, "speed"},
    {"melt_temperature", "melt temp", DIM_TEMPERATURE, 0, 20.0, 500.0, "melt temperature"},
};
static const struct column_spec case_stage_columns[] = {
    {"stage", "position", DIM_TEXT, COLUMN_REQUIRED | COLUMN_CONSTANT_LABEL, 0.0, 0.0, "stage"},
    {"fill", "fill level", DIM_RATIO, COLUMN_REQUIRED, 0.0, 2.0, "share"},
};

static const struct study_input case_studies[] = {
    {"weights", case_weight_columns, PL_COUNT(case_weight_columns)},
    {"pressures", case_pressure_columns, PL_COUNT(case_pressure_columns)},
    {"stages", case_stage_columns, PL_COUNT(case_stage_columns)},
};

/* "press.screw_diameter=35;units.weights.weight=g": numbers are canonical. */
static inline void case_facts(struct arena *a, const char *s, struct facts *out)
{
    *out = (struct facts){.file = "trial.ini"};
    while (s != NULL && *s != '\0') {
        size_t n = strcspn(s, ";");
        char *item = arena_copy_n(a, s, n);
        char *key = strchr(item, '.'), *value = strchr(item, '=');
        *key++ = *value++ = '\0';
        char *end;
        double v = strtod(value, &end);
        bool number = *end == '\0' && end > value;
        struct fact *f = ARENA_PUSH(a, out->items, out->n, out->capacity);
        *f = (struct fact){.section = item,
                           .key = key,
                           .kind = number ? FACT_QUANTITY : FACT_TEXT,
                           .dimension = strcmp(item, "dimensions") == 0 ? DIM_LENGTH : DIM_TEXT,
                           .low = v,
                           .high = v,
                           .text = value,
                           .given = true};
        s += n + (s[n] == ';');
    }
}

/* Columns "name:cavity" on the first line, then a line for each row: order, `x` for a row left out
 * by the user and `-` for one left out by the reader, cells, words. */
static inline char *case_dump(struct arena *a, const struct table *t, bool with_text)
{
    struct text s;
    text_init(&s, a);
    for (size_t i = 0; i < t->n_columns; i++)
        if (t->columns[i].spec->dimension != DIM_TEXT || with_text)
            text_addf(&s, "%s%s:%d", s.length > 0 ? " " : "", t->columns[i].spec->name,
                      t->columns[i].cavity);
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *r = &t->rows[i];
        text_addf(&s, "\n%g%s", r->order, !r->excluded ? "" : r->by_user ? "x" : "-");
        for (size_t k = 0; k < t->n_columns; k++) {
            const struct cell *c = &r->cells[k];
            if (t->columns[k].spec->dimension == DIM_TEXT && !with_text)
                continue;
            switch (c->kind) {
            case CELL_MISSING:
                text_add(&s, " ?");
                break;
            case CELL_VALUE:
                text_addf(&s, " %.9g", c->value);
                break;
            case CELL_BELOW:
                text_addf(&s, " <%.9g", c->value);
                break;
            case CELL_ABOVE:
                text_addf(&s, " >%.9g", c->value);
                break;
            case CELL_TEXT:
                text_addf(&s, " '%s'", c->text);
                break;
            }
        }
        if (r->defect[0] != '\0')
            text_addf(&s, " {%s}", r->defect);
    }
    return s.s;
}

static inline const struct diag *case_find(const struct diag_list *l, const char *code)
{
    for (size_t i = 0; i < l->n; i++)
        if (strcmp(l->items[i].code, code) == 0)
            return &l->items[i];
    return NULL;
}

static inline const struct repair *case_repair(const struct table *t, const char *code)
{
    for (size_t i = 0; i < t->sources[0].n_repairs; i++)
        if (strcmp(t->sources[0].repairs[i].code, code) == 0)
            return &t->sources[0].repairs[i];
    return NULL;
}

static inline void case_load(struct arena *a, const char *name, const char *bytes, size_t n,
                             int study, const char *facts, struct table *t, struct diag_list *diags)
{
    struct error e = {.code = ERR_NONE};
    struct facts f;
    diag_init(diags, a);
    case_facts(a, facts, &f);
    struct facts *kept = ARENA_NEW(a, struct facts);
    *kept = f;
    assert_int_equal(table_load_bytes(a, name, bytes, n, &case_studies[study], kept, t, diags, &e),
                     ERR_NONE);
}

static inline void case_load_text(struct arena *a, const char *s, int study, struct table *t,
                                  struct diag_list *diags)
{
    case_load(a, "t.csv", s, strlen(s), study, NULL, t, diags);
}

#endif
