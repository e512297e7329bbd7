/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The evidence, study by study, under four questions. */
#include <math.h>
#include <string.h>

#include "report/html.h"
#include "report/html_study.h"
#include "report/layout.h"
#include "report/sides.h"
#include "report/svg.h"

/* ---- criteria, quantities ------------------------------------------------------------------ */

const char *html_origin(struct html *g, const char *criterion, char origin)
{
    const struct fact *f =
        g->premises != NULL ? facts_find(g->premises->facts, "criteria", criterion) : NULL;
    if (origin == 'G' || (f != NULL && f->given))
        return f != NULL && f->line > 0
                   ? arena_printf(g->arena, "given in %s, line %ld",
                                  g->premises->facts->file != NULL ? g->premises->facts->file
                                                                   : "trial.ini",
                                  f->line)
                   : "given in trial.ini";
    switch (origin) {
    case 'C':
        return "common practice, no published source";
    case 'O':
        return "our convention";
    case 'S':
        return strcmp(criterion, "conditioning_time") == 0 ? "a standard, ASTM D955" : "a standard";
    default:
        return "not told";
    }
}

static const char *level_words(struct arena *a, double level, int sides)
{
    if (!isfinite(level))
        return "";
    return arena_printf(a, "%s, %s", html_percent(a, level),
                        sides == 1 ? "one-sided" : "two-sided");
}

/* "0.1 % of plateau weight (0.02518 g)"; the number once only. */
static const char *limit_text(struct arena *a, const struct criterion *c,
                              const struct display_unit *u)
{
    if (!isfinite(c->limit))
        return c->limit_wording;
    const char *amount = html_amount(a, u, c->limit, -1);
    if (html_is_empty(c->limit_wording))
        return amount;
    if (strstr(c->limit_wording, amount) != NULL)
        return c->limit_wording;
    return arena_printf(a, "%s (%s)", c->limit_wording, amount);
}

#define CHANCE_LEAST 0.001 /* nobody decides by what lies below */
#define SHARE_MOST 0.9999  /* nor by what lies above, and no model of a scatter is as good */

/* What has a name that ends like this: "_p" is the chance of a test, "_yield" a share of parts. */
static bool is_kind(const char *name, const char *ending)
{
    size_t n = strlen(name), m = strlen(ending);
    return n > m && strcmp(name + n - m, ending) == 0;
}

static bool almost_all(const struct criterion *c, double share)
{
    return is_kind(c->name, "_yield") && share > SHARE_MOST;
}

static const char *criterion_value(struct html *g, const struct criterion *c,
                                   const struct display_unit *u, int decimals)
{
    if (almost_all(c, c->value))
        return "more than 99.99 %";
    return html_amount(g->arena, u, c->value, decimals);
}

static const char *criterion_interval(struct html *g, const struct criterion *c,
                                      const struct display_unit *u, int decimals)
{
    if (almost_all(c, c->low))
        return "more than 99.99 %";
    if (is_kind(c->name, "_yield") && isfinite(c->low) && !isfinite(c->high))
        return arena_printf(g->arena, "at least %s", html_amount(g->arena, u, c->low, decimals));
    return html_interval(g->arena, u, c->low, c->high, decimals);
}

static void criteria(struct html *g, const struct finding *f)
{
    static const char *const heads[] = {
        "Criterion", "Limit", "#Found", "Interval", "Level", "Verdict", "Origin of the limit"};
    if (f->n_criteria == 0)
        return;
    html_table_open(g, "criteria", "Criteria", heads, PL_COUNT(heads));
    for (size_t i = 0; i < f->n_criteria; i++) {
        const struct criterion *c = &f->criteria[i];
        struct display_unit u = svg_unit(g->premises, c->dimension, NULL);
        int decimals = html_decimals(&u, c->value, c->low, c->high);
        html_row_open(g, NULL);
        html_row_head(g, html_is_empty(c->title) ? layout_words(g->arena, c->name) : c->title);
        html_cell(g, limit_text(g->arena, c, &u));
        html_number_cell(g, criterion_value(g, c, &u, decimals));
        html_plain_cell(g, criterion_interval(g, c, &u, decimals));
        html_plain_cell(g, level_words(g->arena, c->level, c->sides));
        html_raw(g, "<td>");
        html_verdict(g, c->verdict, NULL);
        html_raw(g, "</td>");
        html_cell(g, html_origin(g, c->name, c->origin));
        html_row_close(g);
    }
    html_table_close(g);
    html_raw(g, "<ul>\n");
    for (size_t i = 0; i < f->n_criteria; i++) {
        const struct criterion *c = &f->criteria[i];
        if (html_is_empty(c->because) && !c->own_verdict)
            continue;
        html_raw(g, "<li>");
        html_text(g, html_is_empty(c->title) ? layout_words(g->arena, c->name) : c->title);
        html_raw(g, ": ");
        html_text(g, html_is_empty(c->because) ? verdict_text(c->verdict) : c->because);
        html_raw(g, ".");
        if (c->own_verdict)
            html_raw(g, " This verdict stands by itself and does not count in that of the study.");
        html_raw(g, "</li>\n");
    }
    html_raw(g, "</ul>\n");
}

/* Without an interval four digits say enough; of the chance of a test two. */
const char *html_quantity_value(struct arena *a, const struct quantity *q,
                                const struct display_unit *u, int decimals)
{
    if (!isfinite(q->value))
        return "none";
    if (is_kind(q->name, "_p"))
        return q->value < CHANCE_LEAST ? arena_printf(a, "below %g", CHANCE_LEAST)
                                       : number_text(a, q->value, 2);
    if (decimals >= 0)
        return html_amount(a, u, q->value, decimals);
    return html_rounded(a, u, q->value, 4);
}

static void quantities(struct html *g, const struct finding *f)
{
    static const char *const heads[] = {"Quantity", "#Value", "Interval", "Level", "How"};
    if (f->n_quantities == 0)
        return;
    html_table_open(g, "quantities", "Quantities", heads, PL_COUNT(heads));
    for (size_t i = 0; i < f->n_quantities; i++) {
        const struct quantity *q = &f->quantities[i];
        struct display_unit u = svg_unit(g->premises, q->dimension, q->unit);
        int decimals = html_decimals(&u, q->value, q->low, q->high);
        bool has_interval = !isnan(q->low) || !isnan(q->high);
        html_row_open(g, NULL);
        html_row_head(g, html_is_empty(q->title) ? layout_words(g->arena, q->name) : q->title);
        html_number_cell(g, html_quantity_value(g->arena, q, &u, decimals));
        html_plain_cell(g, html_interval(g->arena, &u, q->low, q->high, decimals));
        html_plain_cell(g, has_interval ? level_words(g->arena, q->level, q->sides) : "");
        html_cell(g, isfinite(q->value) || html_is_empty(q->reason)
                         ? q->method
                         : arena_printf(g->arena, "no value: %s", q->reason));
        html_row_close(g);
    }
    html_table_close(g);
}

/* ---- candidates ---------------------------------------------------------------------------- */

/* The unit of the models' own answers: told, or that of the quantity they agree on. */
static struct display_unit answer_unit(struct html *g, const struct finding *f,
                                       const struct model *m)
{
    if (m->answer_dimension != DIM_TEXT)
        return svg_unit(g->premises, m->answer_dimension, NULL);
    for (size_t i = 0; i < f->n_models; i++)
        for (size_t k = 0; k < f->n_quantities && f->models[i].chosen; k++) {
            const struct quantity *q = &f->quantities[k];
            if (isfinite(q->value) && q->value == f->models[i].answer)
                return svg_unit(g->premises, q->dimension, q->unit);
        }
    if (f->n_bounds > 0)
        return svg_unit(g->premises, f->bounds[0].dimension, NULL);
    return svg_unit(g->premises, DIM_COUNT, NULL);
}

static void model_row(struct html *g, const struct finding *f, const struct model *m,
                      const struct display_unit *rest)
{
    struct display_unit u = answer_unit(g, f, m);
    int decimals = html_decimals(&u, m->answer, m->answer_low, m->answer_high);
    html_row_open(g, NULL);
    html_raw(g, "<th scope=\"row\">");
    html_text(g, m->name);
    if (!html_is_empty(m->series)) {
        html_raw(g, ", ");
        html_text(g, m->series);
    }
    html_raw(g, "<br><span class=\"quiet\">");
    html_text(g, m->formula);
    html_raw(g, "</span></th>");
    html_number_cell(g, html_fixed(g->arena, m->aicc, 1));
    html_number_cell(g, html_fixed(g->arena, m->weight, 2));
    html_cell(g, m->chosen ? "yes, the best" : m->in_play ? "yes" : m->tried ? "no" : "not tried");
    html_number_cell(g, html_amount(g->arena, &u, m->answer, decimals));
    html_plain_cell(g, html_interval(g->arena, &u, m->answer_low, m->answer_high, decimals));
    if (m->residual_relative && isfinite(m->residual_sd))
        html_number_cell(
            g, arena_printf(g->arena, "%s %%", number_text(g->arena, 100.0 * m->residual_sd, 2)));
    else
        html_number_cell(g,
                         isfinite(m->residual_sd)
                             ? arena_printf(g->arena, "%s %s",
                                            number_text(g->arena, m->residual_sd / rest->factor, 2),
                                            rest->name)
                             : "-");
    html_number_cell(g, isfinite(m->misfit) ? number_text(g->arena, m->misfit, 2) : "-");
    html_cell(g, m->stop);
    html_row_close(g);
}

static void models(struct html *g, const struct finding *f)
{
    static const char *const heads[] = {"Curve",
                                        "#AICc",
                                        "#Weight",
                                        "In play",
                                        "#Answer",
                                        "Interval",
                                        "#Residual sd",
                                        "#Largest misfit (tolerances)",
                                        "Why the search ended"};
    if (f->n_models == 0)
        return;
    html_table_open(g, "models", "Curves that were considered", heads, PL_COUNT(heads));
    for (size_t i = 0; i < f->n_models; i++) {
        struct display_unit rest = html_reading_unit(g, f, f->models[i].series);
        model_row(g, f, &f->models[i], &rest);
    }
    html_table_close(g);
    html_raw(g, "<p class=\"quiet\">AICc and weight compare the curves: the smaller AICc the "
                "better; every curve in play widens the interval of the answer.</p>\n");
}

/* ---- flags, rows, operating point ------------------------------------------------------------ */

static void flags(struct html *g, const struct finding *f)
{
    static const char *const heads[] = {"Grade", "What", "Where", "Code"};
    if (f->n_flags == 0)
        return;
    html_table_open(g, "flags", "To know", heads, PL_COUNT(heads));
    for (int grade = FLAG_STOP; grade >= FLAG_NOTE; grade--)
        for (size_t i = 0; i < f->n_flags; i++) {
            const struct flag *q = &f->flags[i];
            if ((int)q->grade != grade)
                continue;
            html_row_open(g, NULL);
            html_row_head(g, flag_grade_text(q->grade));
            html_cell(g, html_full_stop(g->arena, q->text));
            html_cell(g, html_place(g->arena, q->file, q->line));
            html_cell(g, q->code);
            html_row_close(g);
        }
    html_table_close(g);
}

static void next_shots(struct html *g, const struct finding *f)
{
    if (f->n_next_shots == 0)
        return;
    html_raw(g, "<h5>Run next</h5>\n<ul>\n");
    for (size_t i = 0; i < f->n_next_shots; i++) {
        const struct next_shot *s = &f->next_shots[i];
        const char *setting = html_is_empty(s->setting) ? "setting" : s->setting;
        html_raw(g, "<li>");
        html_text(g,
                  arena_printf(g->arena, "%d shot%s at %s %s", s->shots, s->shots == 1 ? "" : "s",
                               layout_words(g->arena, setting),
                               setting_text(g->arena, g->premises, setting, s->dimension, s->at)));
        if (!html_is_empty(s->promise)) {
            html_raw(g, ": ");
            html_text(g, s->promise);
        }
        html_raw(g, "</li>\n");
    }
    html_raw(g, "</ul>\n");
}

static void operating_point(struct html *g, const struct finding *f)
{
    if (f->n_operating_point == 0)
        return;
    struct text t;
    text_init(&t, g->arena);
    for (size_t i = 0; i < f->n_operating_point; i++) {
        const struct operating_value *o = &f->operating_point[i];
        struct display_unit u = svg_unit(g->premises, o->dimension, NULL);
        text_addf(&t, "%s%s %s", i > 0 ? "; " : "Made at: ", layout_words(g->arena, o->setting),
                  o->low == o->high ? html_amount(g->arena, &u, o->low, -1)
                                    : html_interval(g->arena, &u, o->low, o->high, -1));
        if (!html_is_empty(o->from))
            text_addf(&t, " (%s)", o->from);
    }
    html_sentence(g, t.s);
}

static void rows(struct html *g, const struct finding *f)
{
    struct text t;
    text_init(&t, g->arena);
    text_addf(&t, "%zu shot%s used", f->rows_used, f->rows_used == 1 ? "" : "s");
    for (size_t i = 0; i < f->n_files; i++)
        text_addf(&t, "%s%s", i == 0 ? " from " : ", ", f->files[i]);
    text_addf(&t, ", %zu row%s left out", f->n_left_out, f->n_left_out == 1 ? "" : "s");
    html_sentence(g, t.s);
    if (f->n_left_out > 0) {
        html_raw(g, "<ul>\n");
        for (size_t i = 0; i < f->n_left_out; i++) {
            const struct row_use *r = &f->left_out[i];
            html_element(g, "li",
                         arena_printf(g->arena, "%s: %s (%s)",
                                      html_place(g->arena, r->file, r->line),
                                      html_is_empty(r->reason) ? "no reason given" : r->reason,
                                      r->by_user ? "left out by the people who ran the trial"
                                                 : "left out by this program"));
        }
        html_raw(g, "</ul>\n");
    }
}

/* ---- on other shots -------------------------------------------------------------------------- */

static void side_cell(struct html *g, const struct sides_cell *c)
{
    html_cell_open(g, c->differs ? "differs" : NULL);
    html_raw(g, c->differs ? "<span>\xe2\x89\xa0 " : "<span>");
    if (c->is_verdict)
        html_verdict(g, c->verdict, NULL);
    else
        html_text(g, c->text);
    html_raw(g, "</span></td>");
}

static void other_answers(struct html *g, const struct finding *f)
{
    struct sides s;
    html_sentence(g, sides_sentence(f, SHOTS_WITH_EXCLUDED));
    html_sentence(g, sides_sentence(f, SHOTS_WITHOUT_ODD));
    if (!sides_make(g->arena, g->premises, f, &s))
        return;
    const char **heads = ARENA_ARRAY(g->arena, const char *, s.n + 1);
    heads[0] = "Result";
    for (size_t k = 0; k < s.n; k++)
        heads[k + 1] = html_capital(g->arena, s.heads[k]);
    html_card_table_open(g, "sides", "Side by side: as used, and on other shots", heads, s.n + 1);
    for (size_t i = 0; i < s.n_rows; i++) {
        html_row_open(g, NULL);
        html_row_head(g, s.rows[i].name);
        for (size_t k = 0; k < s.n; k++)
            side_cell(g, &s.rows[i].cells[k]);
        html_row_close(g);
    }
    html_table_close(g);
    html_raw(g, "<p class=\"quiet\">");
    html_text(g, s.n_differ > 0 ? "\xe2\x89\xa0 " : "");
    html_text(g, sides_key(&s));
    html_raw(g, " Nothing is decided by the other columns.</p>\n");
}

/* ---- figures --------------------------------------------------------------------------------- */

static void figure(struct html *g, const struct figure *f)
{
    html_raw(g, "<figure>\n<figcaption>");
    html_text(g, f->title);
    html_raw(g, "</figcaption>\n");
    report_svg(g->out, f, g->premises, g->analysis->window, false);
    html_raw(g, "</figure>\n");
}

static bool stands_beside(const struct figure *a, const struct figure *b)
{
    return (a->beside != NULL && b->name != NULL && strcmp(a->beside, b->name) == 0) ||
           (b->beside != NULL && a->name != NULL && strcmp(b->beside, a->name) == 0);
}

static void figures(struct html *g, const struct finding *f)
{
    for (size_t i = 0; i < f->n_figures; i++) {
        html_raw(g, "<div class=\"figures\">\n");
        figure(g, &f->figures[i]);
        if (i + 1 < f->n_figures && stands_beside(&f->figures[i], &f->figures[i + 1]))
            figure(g, &f->figures[++i]);
        html_raw(g, "</div>\n");
    }
}

/* ---- a study --------------------------------------------------------------------------------- */

static void study(struct html *g, const struct finding *f)
{
    text_addf(g->out, "<section id=\"study-%s\">\n<h4>", svg_safe_id(g->arena, f->study));
    html_text(g, f->title);
    html_raw(g, " ");
    html_verdict(g, f->verdict, NULL);
    html_raw(g, "</h4>\n");
    figures(g, f);
    html_raw(g, "<p class=\"lead\">");
    html_text(g, html_full_stop(g->arena, f->decision));
    html_raw(g, "</p>\n");
    criteria(g, f);
    quantities(g, f);
    models(g, f);
    html_conditions(g, f);
    html_data_tables(g, f);
    flags(g, f);
    next_shots(g, f);
    operating_point(g, f);
    rows(g, f);
    other_answers(g, f);
    html_raw(g, "</section>\n");
}

static bool belongs(const struct html *g, const struct finding *f, int question)
{
    const struct premises_study *s = html_study_find(g, f->study);
    return s == NULL ? question == HTML_QUESTIONS : (int)s->question == question;
}

/* Studies a whole trial has no file of; of a single file nothing can be said. */
static void not_run(struct html *g)
{
    const struct premises *p = g->premises;
    if (p == NULL || p->single_file || p->n_files == 0)
        return;
    struct text t;
    text_init(&t, g->arena);
    for (size_t i = 0; i < p->n_studies; i++) {
        bool there = false;
        for (size_t k = 0; k < p->n_files; k++)
            there = there || (p->files[k].study != NULL &&
                              strcmp(p->files[k].study, p->studies[i].name) == 0);
        for (size_t k = 0; k < g->analysis->n_findings; k++)
            there = there || strcmp(g->analysis->findings[k].study, p->studies[i].name) == 0;
        if (!there)
            text_addf(&t, "%s%s", t.length > 0 ? ", " : "No data for: ", p->studies[i].name);
    }
    html_sentence(g, t.s);
}

void html_evidence(struct html *g)
{
    html_raw(g, "<h2 id=\"evidence\">The evidence</h2>\n");
    for (int q = 0; q <= HTML_QUESTIONS; q++) {
        bool said = false;
        for (size_t i = 0; i < g->analysis->n_findings; i++) {
            if (!belongs(g, &g->analysis->findings[i], q))
                continue;
            if (!said)
                html_element(g, "h3",
                             q < HTML_QUESTIONS ? html_questions[q] : "What else was run?");
            said = true;
            study(g, &g->analysis->findings[i]);
        }
    }
    not_run(g);
}
