/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <string.h>

#include "plateau/finding.h"

const char *verdict_text(enum verdict v)
{
    static const char *const texts[] = {"none", "met", "not shown", "not met"};
    return texts[v];
}

enum verdict verdict_worst(enum verdict a, enum verdict b)
{
    return a > b ? a : b;
}

const char *flag_grade_text(enum flag_grade g)
{
    static const char *const texts[] = {"note", "doubt", "stop"};
    return texts[g];
}

void finding_init(struct finding *f, struct arena *a, const char *study, const char *title)
{
    *f = (struct finding){.study = study, .title = title, .arena = a};
}

#define PUSH(f, what) ARENA_PUSH((f)->arena, (f)->what, (f)->n_##what, (f)->cap_##what)

struct quantity *finding_quantity(struct finding *f, const char *name, const char *title,
                                  enum dimension d)
{
    struct quantity *q = PUSH(f, quantities);
    *q = (struct quantity){.name = name,
                           .title = title,
                           .dimension = d,
                           .value = NAN,
                           .low = NAN,
                           .high = NAN,
                           .level = NAN};
    return q;
}

struct criterion *finding_criterion(struct finding *f, const char *name)
{
    struct criterion *c = PUSH(f, criteria);
    *c = (struct criterion){
        .name = name, .limit = NAN, .value = NAN, .low = NAN, .high = NAN, .level = NAN};
    return c;
}

struct condition *finding_condition(struct finding *f)
{
    struct condition *c = PUSH(f, conditions);
    *c = (struct condition){
        .mean = NAN, .sd = NAN, .fitted = NAN, .fitted_low = NAN, .fitted_high = NAN};
    return c;
}

struct model *finding_model(struct finding *f, const char *name)
{
    struct model *m = PUSH(f, models);
    *m = (struct model){.name = name,
                        .residual_sd = NAN,
                        .aicc = NAN,
                        .weight = NAN,
                        .misfit = NAN,
                        .misfit_p = NAN,
                        .condition_number = NAN,
                        .answer = NAN,
                        .answer_low = NAN,
                        .answer_high = NAN};
    return m;
}

struct bound *finding_bound(struct finding *f, const char *setting, enum bound_side side,
                            enum dimension d)
{
    struct bound *b = PUSH(f, bounds);
    *b = (struct bound){.setting = setting,
                        .side = side,
                        .dimension = d,
                        .value = NAN,
                        .low = NAN,
                        .high = NAN,
                        .study = f->study};
    return b;
}

struct flag *finding_flag(struct finding *f, const char *code, enum flag_grade grade,
                          const char *file, long line, const char *fmt, ...)
{
    struct text t;
    text_init(&t, f->arena);
    va_list ap;
    va_start(ap, fmt);
    text_vaddf(&t, fmt, ap);
    va_end(ap);
    struct flag *g = PUSH(f, flags);
    *g = (struct flag){.code = code, .grade = grade, .text = t.s, .file = file, .line = line};
    return g;
}

struct next_shot *finding_next_shot(struct finding *f)
{
    struct next_shot *s = PUSH(f, next_shots);
    *s = (struct next_shot){.at = NAN, .half_width_now = NAN, .half_width_then = NAN};
    return s;
}

struct figure *finding_figure(struct finding *f, const char *name)
{
    struct figure *g = PUSH(f, figures);
    *g = (struct figure){.name = name};
    g->x.low = g->x.high = g->y.low = g->y.high = NAN;
    return g;
}

struct data_table *finding_table(struct finding *f, const char *name, const char *title,
                                 size_t n_columns, size_t n_rows)
{
    struct data_table *t = PUSH(f, tables);
    *t = (struct data_table){
        .name = name,
        .title = title,
        .columns = ARENA_ARRAY(f->arena, struct data_column, n_columns),
        .n_columns = n_columns,
        .n_rows = n_rows,
        .values = ARENA_ARRAY(f->arena, double, n_columns *n_rows),
        .texts = ARENA_ARRAY(f->arena, const char *, n_columns *n_rows),
    };
    for (size_t i = 0; i < n_columns * n_rows; i++)
        t->values[i] = NAN;
    return t;
}

void finding_left_out(struct finding *f, const char *file, long line, const char *reason,
                      bool by_user)
{
    struct row_use *r = PUSH(f, left_out);
    *r = (struct row_use){file, line, reason, by_user};
}

struct operating_value *finding_operating(struct finding *f, const char *setting, enum dimension d)
{
    struct operating_value *o = PUSH(f, operating_point);
    *o = (struct operating_value){setting, d, NAN, NAN, NULL};
    return o;
}

struct other_answer *finding_other_answer(struct finding *f, enum other_shots_kind which)
{
    struct other_answer *o = PUSH(f, other_answers);
    *o = (struct other_answer){.which = which};
    return o;
}

static void round_all(double *const *values, size_t n)
{
    for (size_t i = 0; i < n; i++)
        *values[i] = round_10(*values[i]);
}

#define ROUND(...)                                                                                 \
    round_all((double *const[]){__VA_ARGS__},                                                      \
              sizeof((double *const[]){__VA_ARGS__}) / sizeof(double *))

static void round_numbers(struct finding *f)
{
    for (size_t i = 0; i < f->n_quantities; i++)
        ROUND(&f->quantities[i].value, &f->quantities[i].low, &f->quantities[i].high);
    for (size_t i = 0; i < f->n_criteria; i++) {
        struct criterion *c = &f->criteria[i];
        ROUND(&c->limit, &c->value, &c->low, &c->high);
    }
    for (size_t i = 0; i < f->n_conditions; i++) {
        struct condition *c = &f->conditions[i];
        ROUND(&c->setting, &c->mean, &c->sd, &c->fitted, &c->fitted_low, &c->fitted_high);
    }
    for (size_t i = 0; i < f->n_models; i++) {
        struct model *m = &f->models[i];
        ROUND(&m->residual_sd, &m->aicc, &m->weight, &m->misfit, &m->misfit_p, &m->condition_number,
              &m->answer, &m->answer_low, &m->answer_high);
        for (size_t j = 0; j < m->n_parameters; j++) {
            m->value[j] = round_10(m->value[j]);
            for (size_t k = 0; k < m->n_parameters; k++)
                m->covariance[j][k] = round_10(m->covariance[j][k]);
        }
    }
    for (size_t i = 0; i < f->n_bounds; i++)
        ROUND(&f->bounds[i].value, &f->bounds[i].low, &f->bounds[i].high);
    for (size_t i = 0; i < f->n_next_shots; i++) {
        struct next_shot *s = &f->next_shots[i];
        ROUND(&s->at, &s->half_width_now, &s->half_width_then);
    }
}

const struct flag_spec *finding_flags(size_t *n)
{
    static const struct flag_spec flags[] = {
        {"no-reason", FLAG_DOUBT,
         "A row was left out in the column `exclude` without saying why. A reviewer cannot tell "
         "whether "
         "that was right.",
         "Write the reason into the column `exclude` instead of yes or x."},
    };
    *n = PL_COUNT(flags);
    return flags;
}

static void check_reasons(struct finding *f)
{
    size_t n = 0, first = 0;
    for (size_t i = 0; i < f->n_left_out; i++) {
        const struct row_use *r = &f->left_out[i];
        if (!r->by_user || (r->reason != NULL && r->reason[0] != '\0'))
            continue;
        if (n++ == 0)
            first = i;
    }
    if (n > 0)
        finding_flag(
            f, "no-reason", FLAG_DOUBT, f->left_out[first].file, f->left_out[first].line,
            n == 1 ? "%zu row is left out without a reason: write it into the column exclude"
                   : "%zu rows are left out without a reason: write it into the column exclude",
            n);
}

void finding_finish(struct finding *f)
{
    check_reasons(f);
    enum verdict v = VERDICT_NONE;
    for (size_t i = 0; i < f->n_criteria; i++)
        if (!f->criteria[i].own_verdict)
            v = verdict_worst(v, f->criteria[i].verdict);
    for (size_t i = 0; i < f->n_flags; i++)
        if (f->flags[i].grade == FLAG_STOP) {
            f->n_bounds = 0;
            v = verdict_worst(v, VERDICT_NOT_SHOWN);
        }
    f->verdict = v;
    round_numbers(f);
}

bool finding_has_flag(const struct finding *f, const char *code)
{
    for (size_t i = 0; i < f->n_flags; i++)
        if (strcmp(f->flags[i].code, code) == 0)
            return true;
    return false;
}

const struct quantity *finding_get(const struct finding *f, const char *name)
{
    for (size_t i = 0; i < f->n_quantities; i++)
        if (strcmp(f->quantities[i].name, name) == 0)
            return &f->quantities[i];
    return NULL;
}
