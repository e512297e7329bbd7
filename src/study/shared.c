/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the modules under studies/ would otherwise each have a copy of. */
#include <math.h>
#include <string.h>

#include "plateau/study.h"

bool study_takes(const struct table_row *row, enum study_take take)
{
    return !row->excluded || (row->by_user && take == TAKE_DRAWN);
}

void study_leave_out(struct finding *f, const struct table *t, size_t row, const char *why,
                     enum study_take take)
{
    const struct table_row *r = &t->rows[row];
    if (take == TAKE_ANALYZED)
        finding_left_out(f, study_file(t, row), r->line, r->excluded ? r->reason : why,
                         r->excluded && r->by_user);
}

#define CANDIDATES 50 /* rows whose reasons are counted; as many times are all rows looked at */

const char *study_no_rows(const struct finding *f, const char *otherwise)
{
    const char *reason = NULL;
    size_t most = 0;
    for (size_t i = 0; i < f->n_left_out && i < CANDIDATES; i++) {
        size_t n = 0;
        const char *why = f->left_out[i].reason;
        for (size_t j = i; why != NULL && *why != '\0' && j < f->n_left_out; j++)
            n += f->left_out[j].reason != NULL && strcmp(f->left_out[j].reason, why) == 0;
        if (n > most) {
            most = n;
            reason = why;
        }
    }
    if (reason == NULL)
        return otherwise;
    if (most == f->n_left_out)
        return arena_printf(f->arena, "none of the %zu rows can be used: %s", most, reason);
    return arena_printf(f->arena, "none of the %zu rows can be used; of %zu of them: %s",
                        f->n_left_out, most, reason);
}

const char *study_file(const struct table *t, size_t row)
{
    return t->sources[t->rows[row].source].name;
}

void study_note_files(struct finding *f, const struct table *t)
{
    f->files = ARENA_ARRAY(f->arena, const char *, t->n_sources);
    f->n_files = 0;
    for (size_t i = 0; i < t->n_sources; i++)
        f->files[f->n_files++] = t->sources[i].name;
}

enum flag_grade study_grade(const struct flag_spec *flags, size_t n, const char *code)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(flags[i].code, code) == 0)
            return flags[i].grade;
    return FLAG_DOUBT;
}

void study_model_parameters(struct model *m, size_t p, const char *const *parameter,
                            const double *value, const double *covariance, size_t width)
{
    m->n_parameters = p < MODEL_PARAMETERS_MAX ? p : MODEL_PARAMETERS_MAX;
    for (size_t i = 0; i < m->n_parameters; i++) {
        m->parameter[i] = parameter[i];
        m->value[i] = value[i];
        for (size_t j = 0; j < m->n_parameters; j++)
            m->covariance[i][j] = covariance[i * width + j];
    }
}

struct model *study_note_family(struct finding *f, const char *series, const struct family_fit *fit)
{
    struct model *m = finding_model(f, fit->name);
    m->series = series;
    m->formula = fit->formula;
    m->plateau = fit->plateau;
    m->tried = fit->tried;
    m->in_play = fit->in_play;
    m->stop = fit->stop;
    if (!fit->tried)
        return m;
    study_model_parameters(m, fit->p, fit->parameter, fit->value, &fit->covariance[0][0],
                           PL_COUNT(fit->covariance[0]));
    m->residual_sd = fit->residual_sd;
    m->aicc = fit->aicc;
    m->weight = fit->weight;
    m->misfit = fit->misfit;
    m->misfit_p = fit->misfit_p;
    m->rank = fit->rank;
    m->condition_number = fit->condition_number;
    m->answer = fit->answer;
    m->answer_low = fit->answer_low;
    m->answer_high = fit->answer_high;
    return m;
}

enum verdict study_plateau_verdict(const struct plateau_answer *r)
{
    switch (r->state) {
    case PLATEAU_FOUND:
    case PLATEAU_BEFORE_FIRST:
    case PLATEAU_BRACKET_ONLY:
        return r->verdict > 0 ? VERDICT_MET : VERDICT_NOT_SHOWN;
    case PLATEAU_NOT_REACHED:
        return r->verdict < 0 ? VERDICT_NOT_MET : VERDICT_NOT_SHOWN;
    case PLATEAU_OPEN:
    case PLATEAU_UNDECIDED:
        break;
    }
    return VERDICT_NOT_SHOWN;
}

int study_plateau_shots(struct arena *a, const struct math_blocks *blocks,
                        const struct plateau_options *options, const struct plateau_answer *r,
                        const char **sentence)
{
    int all = plateau_shots_to_decide(blocks, options, r, blocks->group_x, blocks->n_groups);
    int two = all < 0 ? plateau_flat_end_shots(blocks, options, r) : 0;
    if (two <= 0)
        return all;
    *sentence = arena_printf(a, "%s; %d more shot%s at each of these two would probably decide it",
                             *sentence, two, two == 1 ? "" : "s");
    return 0;
}

size_t study_success_run(double share, double confidence)
{
    double n = log(1.0 - confidence) / log(share);
    return n < 1e9 ? (size_t)ceil(fmax(1.0, n - 1e-9)) : (size_t)1000000000;
}

double study_share_shown(size_t n, double confidence)
{
    return n > 0 ? pow(1.0 - confidence, 1.0 / (double)n) : 0.0;
}
