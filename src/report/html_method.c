/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was done, in a few sentences each, with sources; the studies and their questions. */
#include <string.h>

#include "report/html.h"

const char *const html_questions[HTML_QUESTIONS] = {
    "Can the figures be trusted?",
    "Is the mold fit?",
    "Where may the settings lie?",
    "Does it hold?",
};

const struct premises_study *html_study_find(const struct html *g, const char *name)
{
    const struct premises *p = g->premises;
    for (size_t i = 0; p != NULL && name != NULL && i < p->n_studies; i++)
        if (strcmp(p->studies[i].name, name) == 0)
            return &p->studies[i];
    return NULL;
}

static const char *const shared[] = {
    "Bounds and aims. A bound is the safe end of an interval and holds no margin; the margin is "
    "added in the aim. No bound and no aim lies outside the range that was tested.",
    "Verdicts. A criterion is met only when the whole interval meets it, not met when the whole "
    "interval misses it, and otherwise not shown.",
    "Units. Conversion factors are exact, from NIST Special Publication 811.",
};

/* Where curves were fitted, how they were compared and what the interval is. */
static void fits(struct html *g)
{
    html_element(
        g, "p",
        "Fits. Consecutive shots at one setting are one block and share their setting "
        "error, so every interval is the wider of the one from shots and the one from "
        "block means. Every candidate curve is fitted and weighed by AICc (Hurvich and "
        "Tsai, 1989, from memory); all within 7 units of the best stay in play. The "
        "interval of an answer is found by profiling the sum of squares for that answer "
        "itself (Bates and Watts, Nonlinear Regression Analysis, Wiley 1988, from memory), "
        "joined over the curves in play and, for the start of a plateau, with the "
        "neighbouring tested settings between which it lies. A plateau is shown by two "
        "one-sided tests on the mean of its conditions (Schuirmann, 1987, from memory).");
}

void html_methods(struct html *g)
{
    bool fitted = false;
    html_raw(g, "<h2 id=\"methods\">What was done</h2>\n");
    for (size_t i = 0; i < PL_COUNT(shared); i++)
        html_element(g, "p", shared[i]);
    for (size_t i = 0; i < g->analysis->n_findings; i++)
        fitted = fitted || g->analysis->findings[i].n_models > 0;
    if (fitted)
        fits(g);
    for (size_t i = 0; i < g->analysis->n_findings; i++) {
        const struct finding *f = &g->analysis->findings[i];
        const struct premises_study *s = html_study_find(g, f->study);
        if (s == NULL || html_is_empty(s->method))
            continue;
        html_raw(g, "<p><b>");
        html_text(g, f->title);
        html_raw(g, ".</b> ");
        html_text(g, s->method);
        html_raw(g, "</p>\n");
    }
}

void html_cautions(struct html *g)
{
    const struct premises *p = g->premises;
    if (p == NULL || p->n_cautions == 0)
        return;
    html_raw(g, "<h2 id=\"cautions\">Cautions</h2>\n<div class=\"cautions\"><ul>\n");
    for (size_t i = 0; i < p->n_cautions; i++)
        html_element(g, "li", p->cautions[i]);
    html_raw(g, "</ul></div>\n");
}

void html_sign_off(struct html *g)
{
    static const char *const heads[] = {"", "Name", "Signature", "Date"};
    static const char *const roles[] = {"Prepared", "Reviewed", "Approved"};
    html_raw(g, "<h2 id=\"sign-off\">Sign-off</h2>\n");
    html_sentence(g, arena_printf(g->arena,
                                  "Signed is the report \u201c%s\u201d, made with plateau %s",
                                  html_title(g), PLATEAU_VERSION));
    html_record_digest(g, "It belongs to the record.json that has the SHA-256 ");
    html_table_open(g, "sign", "To be filled in by hand", heads, PL_COUNT(heads));
    for (size_t i = 0; i < PL_COUNT(roles); i++) {
        html_row_open(g, NULL);
        html_row_head(g, roles[i]);
        html_raw(g, "<td></td><td></td><td></td>");
        html_row_close(g);
    }
    html_table_close(g);
}
