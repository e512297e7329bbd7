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

const struct html_study html_studies[] = {
    {"cavity-balance", "Cavity balance", 1},
    {"clamp", "Clamp", 1},
    {"cooling", "Cooling", 2},
    {"gate-freeze", "Gate freeze", 2},
    {"gauge", "Gauge", 0},
    {"hold-window", "Hold window", 2},
    {"press", "Press", 0},
    {"pressure-drop", "Pressure drop", 1},
    {"runs", "Runs", 3},
    {"viscosity", "Viscosity", 2},
};
const size_t html_n_studies = PL_COUNT(html_studies);

const struct html_study *html_study_find(const char *name)
{
    for (size_t i = 0; name != NULL && i < html_n_studies; i++)
        if (strcmp(html_studies[i].name, name) == 0)
            return &html_studies[i];
    return NULL;
}

static const char *const shared[] = {
    "Bounds and aims. A bound is the safe end of an interval and holds no margin; the margin is "
    "added in the aim. No bound and no aim lies outside the range that was tested.",
    "Verdicts. A criterion is met only when the whole interval meets it, not met when the whole "
    "interval misses it, and otherwise not shown.",
    "Units. Conversion factors are exact, from NIST Special Publication 811.",
};

static const struct {
    const char *study, *text;
} methods[] = {
    {"cavity-balance",
     "Imbalance is the difference between the heaviest and the lightest cavity mean, divided by "
     "the heaviest; other formulas are in use. The shot's own effect is taken out in a two-way "
     "layout. The interval comes from the studentized range and Student's t; cavities that differ "
     "from the overall mean are named by analysis of means (Ott, 1967, from memory)."},
    {"clamp",
     "The clamp force below which weight, flash or parting-line opening begins to rise is found as "
     "the end of a plateau on the reversed axis. Projected area times 20 to 80 MPa is printed as a "
     "check and decides nothing (common practice, no published source)."},
    {"cooling",
     "What is bounded is the closed time, fill + hold + cooling. A dimension has settled when its "
     "remaining change stays within a share of its tolerance band; limits of dimensions count from "
     "the conditioning age on (ASTM D955). The cooling time of a plate by heat conduction is "
     "printed as a check and decides nothing (Kazmer, Injection Mold Design Engineering, Hanser "
     "2007, read second-hand)."},
    {"gate-freeze",
     "Weight against hold time is followed until it stays within a tolerance of its plateau; the "
     "tolerance was fixed before the data. The freeze time is the time from which the fitted "
     "weight stays within it (common practice, no published source, for weighing parts against "
     "hold time)."},
    {"gauge",
     "Repeatability, reproducibility, part and interaction come from an analysis of variance of "
     "the crossed study; negative components count as zero."},
    {"hold-window",
     "Every shot is judged in words. An edge lies between the last bad and the first good setting "
     "at each tested temperature; the rectangle takes the worst edge among them. The share of good "
     "shots carries its exact binomial lower bound (Clopper and Pearson, 1934, from memory)."},
    {"press", "Deviation from the set speed, slowdown under resistance and repeatability of the "
              "shot are measured on the press itself, with intervals."},
    {"pressure-drop", "Mean peak pressure of each stage in the order of flow; pressure use is that "
                      "of the last stage "
                      "divided by the pressure the press has, as melt pressure."},
    {"runs",
     "Capability is judged per cavity on overall scatter, with one-sided lower bounds; tolerance "
     "intervals with exact factors, without a distribution where normality fails; normality by "
     "Anderson and Darling with a parametric bootstrap (NIST/SEMATECH e-Handbook of Statistical "
     "Methods for the formulas)."},
    {"viscosity",
     "In-mold relative viscosity is melt pressure at transfer times fill time; relative shear rate "
     "is 1 / fill time. Because one measured time stands on both axes, pressure is fitted against "
     "rate on logarithms: power law, power law with a Newtonian term, Cross (1965), Carreau (1972) "
     "(from memory). On a power law every knee follows the tested range, and the report says so."},
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
    for (size_t i = 0; i < g->analysis->n_findings; i++)
        for (size_t k = 0; k < PL_COUNT(methods); k++) {
            const struct finding *f = &g->analysis->findings[i];
            if (strcmp(f->study, methods[k].study) != 0)
                continue;
            html_raw(g, "<p><b>");
            html_text(g, f->title);
            html_raw(g, ".</b> ");
            html_text(g, methods[k].text);
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
    html_table_open(g, "sign", "To be filled in by hand", heads, PL_COUNT(heads));
    for (size_t i = 0; i < PL_COUNT(roles); i++) {
        html_row_open(g, NULL);
        html_row_head(g, roles[i]);
        html_raw(g, "<td></td><td></td><td></td>");
        html_row_close(g);
    }
    html_table_close(g);
}
