/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page for people: its order, its words and numbers, and that nothing a user writes can become
 * markup. */
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "html_checks.h"
#include "html_page.h"
#include "plateau/report.h"
#include "sample_analysis.h"

/* ---- order ------------------------------------------------------------------------------------
 */

static void test_sections_stand_in_order(void **state)
{
    struct fixture *f = *state;
    const char *s = page(f);
    ASSERT_ORDER(s, "<h1>Lid, first trial</h1>", "M-117", ">Settings</h2>", "No clamp force can be",
                 "Settings: aim, and the limits", "What the press and the part should show",
                 "Why each setting is what it is", "Verdict of each study", "What is not proven",
                 "Shots to run next", ">The evidence</h2>", "Where may the settings lie?",
                 "<h4>Gate freeze ", "<h4>Hold window ", "No data for: ", ">Raw data</h2>",
                 ">How the files were read</h2>", "Criteria in force", ">Cautions</h2>",
                 ">What was done</h2>", ">Inputs, program and options</h2>", ">Sign-off</h2>");
    assert_harmless(s);
}

static void test_evidence_of_a_study_stands_in_order(void **state)
{
    struct fixture *f = *state;
    const char *s = part(f->arena, page(f), "<section id=\"study-gate-freeze\"", "</section>");
    ASSERT_ORDER(s, "<figure>", "<svg", "Set 6.3 s: weight is within", "<caption>Criteria",
                 "our convention", "common practice, no published source",
                 "<caption>Curves that were considered", "exponential", "logistic",
                 "<caption>Conditions: means and fit", "<caption>To know", "stray-shot", "Run next",
                 "3 shots at hold time 5.5 s", "Made at: hold pressure 480 bar",
                 "part fell on the floor", "<caption>Side by side");
    /* both figures stand side by side */
    assert_int_equal(count(s, "<div class=\"figures\">"), 1);
    assert_int_equal(count(s, "<figure>"), 2);
}

static void test_four_questions_alphabetical_inside(void **state)
{
    struct fixture *f = *state;
    static const char *const names[] = {"cavity-balance", "clamp",       "cooling", "gate-freeze",
                                        "gauge",          "hold-window", "press",   "pressure-drop",
                                        "runs",           "viscosity",   "zz-new"};
    struct finding *all = ARENA_ARRAY(f->arena, struct finding, PL_COUNT(names));
    for (size_t i = 0; i < PL_COUNT(names); i++)
        finding_init(&all[i], f->arena, names[i], names[i]);
    f->analysis.findings = all;
    f->analysis.n_findings = PL_COUNT(names);
    const char *s = strstr(page(f), ">The evidence</h2>");
    ASSERT_ORDER(s, "<h3>Can the figures be trusted?", "<h4>gauge ", "<h4>press ",
                 "<h3>Is the mold fit?", "<h4>cavity-balance ", "<h4>clamp ", "<h4>pressure-drop ",
                 "<h3>Where may the settings lie?", "<h4>cooling ", "<h4>gate-freeze ",
                 "<h4>hold-window ", "<h4>viscosity ", "<h3>Does it hold?", "<h4>runs ",
                 "<h4>zz-new ", ">Raw data</h2>");
    assert_null(strstr(s, "No data for"));
}

static void test_studies_without_data(void **state)
{
    struct fixture *f = *state;
    assert_has(page(f), "<p>No data for: cavity-balance, clamp, cooling, gauge, press, "
                        "pressure-drop, runs, viscosity.</p>");
    /* of a single file nobody can tell */
    sample_premises(&f->analysis)->single_file = true;
    assert_null(strstr(page(f), "No data for"));
    assert_has(page(f), "One file was analyzed by itself");
}

/* ---- words and numbers
 * --------------------------------------------------------------------------- */

static void test_settings_with_units_and_verdicts(void **state)
{
    struct fixture *f = *state;
    const char *table = part(f->arena, page(f), "<caption>Settings", "</table>");
    const char *s = words(f->arena, table);
    assert_has(s, "Hold pressure 420 bar 480 bar 540 bar not shown 400 bar, outside hold-window");
    assert_has(s, "Hold time 5.8 s 6.3 s none met (by convention) 6.5 s, inside gate-freeze");
    /* the line around the word says the same */
    assert_int_equal(count(table, "v-not-shown"), 1);
    assert_int_equal(count(table, "v-met"), 1);
}

/* A doubt must not be left behind when the sheet hangs at the press by itself; notes may be. */
static void test_doubts_stand_beside_the_settings(void **state)
{
    struct fixture *f = *state;
    const char *sheet =
        words(f->arena, part(f->arena, page(f), "<h2 id=\"settings\"", "<h2 id=\"reasons\""));
    assert_has(sheet, "Doubts beside these verdicts: Gate freeze: stray-shot, coarse-scale; "
                      "Window: worst-corner-untested.");
    assert_null(strstr(sheet, "conditions-inferred"));
    sample_findings(&f->analysis)[0].n_flags = 0;
    sample_findings(&f->analysis)[1].n_flags = 0;
    sample_window(&f->analysis)->n_flags = 0;
    assert_null(strstr(page(f), "Doubts beside"));
}

/* On a narrow screen a row is a card: each cell then says what it is. */
static void test_cells_of_cards_carry_their_heads(void **state)
{
    struct fixture *f = *state;
    const char *table = part(f->arena, page(f), "<caption>Settings", "</table>");
    assert_has(table, "<td class=\"n\" data-label=\"Low\">420 bar</td>");
    assert_has(table, "<td class=\"n aim\" data-label=\"Aim\">480 bar</td>");
    assert_has(table, "data-label=\"Decided by\">hold-window</td>");
}

static void test_half_an_interval_shows_two_digits(void **state)
{
    struct fixture *f = *state;
    const char *s = page(f);
    /* 5.1 to 5.8: half is 0.35 */
    assert_has(words(f->arena, part(f->arena, s, "gate freeze time", "</tr>")),
               "5.40 s 5.10 to 5.80 s 95 %, two-sided");
    /* 25.169 to 25.191: half is 0.011 */
    assert_has(words(f->arena, part(f->arena, s, "part weight</th>", "</tr>")),
               "25.180 g 25.151 25.209 25.169 to 25.191 fit and shot scatter");
    assert_has(words(f->arena, part(f->arena, s, "cushion</th>", "</tr>")),
               "5.2 mm none none not known one press reading, no interval");
    /* open at one end */
    assert_has(words(f->arena, part(f->arena, s, "start of the plateau", "</tr>")),
               "none 4.9 s and more 95 %, two-sided no value: the best family has no corner");
    assert_has(words(f->arena, part(f->arena, s, "weight gained by the runner", "</tr>")),
               "0.420 g/10 s at most 0.510 g/10 s 95 %, one-sided");
}

static void test_conditions_in_units_of_the_first_figure(void **state)
{
    struct fixture *f = *state;
    const char *s =
        words(f->arena, part(f->arena, page(f), "<caption>Conditions: means", "</table>"));
    assert_has(s, "hold time (s) Block Shots mean (g) sd (g) fitted (g)");
    assert_has(s, "gate-freeze.csv:29; left out: flash at the parting line");
    /* told by the conditions themselves */
    struct finding *g = sample_findings(&f->analysis);
    for (size_t i = 0; i < g->n_conditions; i++) {
        g->conditions[i].setting_dimension = DIM_PRESSURE;
        g->conditions[i].dimension = DIM_LENGTH;
    }
    s = words(f->arena, part(f->arena, page(f), "<caption>Conditions: means", "</table>"));
    assert_has(s, "setting (bar) Block Shots mean (mm)");
    assert_has(s, "parts 20 1 3 24.8"); /* 2 MPa are 20 bar */
}

static void test_curves_that_were_considered(void **state)
{
    struct fixture *f = *state;
    const char *table = part(f->arena, page(f), "<caption>Curves that were considered", "</table>");
    const char *s = words(f->arena, table);
    assert_has(s, "-182.4 0.83 yes, the best 5.40 s 5.20 to 5.70 s 0.0034 g 0.11 step below");
    assert_has(s, "-179.2 0.17 yes 5.30 s 5.10 to 5.70 s");
    assert_has(s, "-41.8 0.00 no - open");
    assert_has(s, "- - not tried - - - not tried: too few conditions");
}

static void test_origins(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    static const struct {
        const char *name;
        char origin;
        const char *words;
    } cases[] = {
        {"freeze_tolerance", 'O', "our convention"},
        {"imbalance_max", 'C', "common practice, no published source"},
        {"conditioning_time", 'S', "a standard, ASTM D955"},
        {"ppk_min", 'G', "given in trial.ini"},
    };
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        g->criteria[0].name = cases[i].name;
        g->criteria[0].origin = cases[i].origin;
        const char *s = part(f->arena, page(f), "<caption>Criteria<", "</tr>\n<tr>");
        assert_has(s, cases[i].words);
    }
    assert_has(page(f), "default: common practice, no published source");
}

static void test_what_is_not_proven(void **state)
{
    struct fixture *f = *state;
    const char *s =
        words(f->arena, part(f->arena, page(f), "id=\"not-proven\"", "id=\"evidence\""));
    ASSERT_ORDER(s, "Hold pressure not shown Parts were good",
                 "Window: pressure use at the aim (limit 80 % of the available pressure) not shown",
                 "(limit 3 %) not shown The interval 1.2 to 4.1 %",
                 "6 more shots per condition would probably decide this.",
                 "No number of further shots at the same settings promises to decide this; move "
                 "the setting or mend the cause.",
                 "Gate freeze, doubt:", "Window, doubt:", "Shots to run next",
                 "Why What it promises", "hold time, for parts 5.5 s 3", "Halves the bracket",
                 "hold pressure 420 bar 59",
                 "Window hold time, for corner 225 degC melt temperature 6.3 s 3", "Shows whether",
                 "Repeatability of hold time taken as 0.");
    /* a note is no doubt */
    assert_null(strstr(s, "No block column"));
}

/* The reason of a setting is told once, and so is one that several proposals share. */
static void test_a_reason_is_said_once(void **state)
{
    struct fixture *f = *state;
    struct window_setting *s = sample_window(&f->analysis)->settings;
    s->verdict = VERDICT_NOT_SHOWN;
    s->because = "Set 6.3 s: bound 5.8 s from gate-freeze. Why 5.8 s: flat from here on. Not shown "
                 "yet: see \"yield\" in cooling.";
    const char *p = part(f->arena, page(f), "id=\"not-proven\"", "id=\"evidence\"");
    assert_null(strstr(p, "flat from here on"));
    assert_has(p, "Not shown yet: see &quot;yield&quot; in cooling.</li>");
    s->because = "Set 6.3 s: bound 5.8 s from gate-freeze. Why 5.8 s: flat from here on.";
    p = part(f->arena, page(f), "id=\"not-proven\"", "id=\"evidence\"");
    assert_null(strstr(p, "flat from here on"));
    assert_has(p, "<a href=\"#reasons\">Why each setting is what it is</a>.</li>");

    struct finding *g = sample_findings(&f->analysis);
    struct next_shot *more = ARENA_ARRAY(f->arena, struct next_shot, 3);
    for (size_t i = 0; i < 3; i++)
        more[i] = (struct next_shot){.setting = "hold_time",
                                     .dimension = DIM_TIME,
                                     .at = 5.0 + (double)i,
                                     .shots = 3,
                                     .why = "the spacing of the tested times is the limit"};
    g->next_shots = more;
    g->n_next_shots = 3;
    p = part(f->arena, page(f), "id=\"not-proven\"", "id=\"evidence\"");
    assert_int_equal(count(p, "The spacing of the tested times is the limit."), 1);
    assert_int_equal(count(p, "<td>As above.</td>"), 2);
}

/* What only several studies together can tell stands with the settings. */
static void test_checks_of_the_window(void **state)
{
    struct fixture *f = *state;
    const char *s = words(f->arena, part(f->arena, page(f), "id=\"reasons\"", "id=\"not-proven\""));
    assert_has(s, "Pressure use at the aim not shown Filling in 0.6 s takes 79 %");
    assert_has(s, "Limit: 80 % of the available pressure (common practice, no published source); "
                  "this verdict stands by itself and does not count in that of the window.");
}

static void test_nothing_left_to_prove(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    struct window *w = sample_window(&f->analysis);
    for (size_t i = 0; i < 2; i++) {
        for (size_t k = 0; k < g[i].n_criteria; k++)
            g[i].criteria[k].verdict = VERDICT_MET;
        g[i].n_flags = g[i].n_next_shots = 0;
        w->settings[i].verdict = VERDICT_MET;
    }
    w->n_flags = w->n_next_shots = 0;
    w->checks[0].verdict = VERDICT_MET;
    assert_has(page(f), "Every criterion that was looked at is met, and no doubt stands");
}

/* Shots can be worth while without a promise of what they bring: no empty column for it. */
static void test_shots_that_promise_nothing(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    struct window *w = sample_window(&f->analysis);
    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < g[i].n_next_shots; k++)
            g[i].next_shots[k].promise = NULL;
    for (size_t k = 0; k < w->n_next_shots; k++)
        w->next_shots[k].promise = NULL;
    const char *s = page(f);
    assert_has(s, "Shots to run next");
    assert_null(strstr(s, "What it promises"));
    assert_harmless(s);
}

static void test_no_plateau_is_said_first(void **state)
{
    struct fixture *f = *state;
    sample_analysis_not_frozen(f->arena, &f->analysis);
    const char *s = page(f);
    assert_harmless(s);
    ASSERT_ORDER(s, ">Settings</h2>",
                 "No hold time can be recommended: weight is still rising at 9 s, the longest time "
                 "tested.",
                 "Why each setting");
    /* no number stands in for the missing aim */
    const char *table = words(f->arena, part(f->arena, s, "<caption>Settings", "</table>"));
    assert_has(table, "Hold time none none none not met 6.5 s, not shown to be inside");
    assert_has(s, "Gate freeze, stop:");
}

static void test_repaired_and_left_out_are_marked(void **state)
{
    struct fixture *f = *state;
    const char *s = part(f->arena, page(f), ">Raw data</h2>", ">How the files were read</h2>");
    assert_int_equal(count(s, "class=\"rep\""), 1);
    size_t left_out = 0;
    const struct premises_file *file = &f->analysis.premises->files[1];
    for (size_t i = 0; i < file->n_records; i++)
        left_out += file->records[i].left_out;
    assert_int_equal(count(s, "<tr class=\"out\">"), left_out);
    assert_int_equal(count(s, "<tr"), file->n_records + 1);
    /* the cell that says why, and the column of reasons: neither is struck through */
    assert_int_equal(count(s, "<td class=\"why\">part fell on the floor</td>"), 2);
    assert_has(s, "<td class=\"why\">average row</td>");
}

static void test_how_the_files_were_read(void **state)
{
    struct fixture *f = *state;
    const char *s = words(f->arena, part(f->arena, page(f), "id=\"reading\"", "id=\"cautions\""));
    ASSERT_ORDER(s, "Encoding UTF-8 with byte order mark", "Separator semicolon",
                 "Decimal mark comma", "Header line 3", "Units row line 4",
                 "26 read, 23 kept, 3 left out", "Freeze study, night shift", "Operator",
                 "The decimal mark is a comma. 52 5, 6, 7, ... decimal-comma", "Units row none",
                 "Nothing was repaired", "Files in the folder that no study reads: notes.csv.",
                 "time_step 0.1 s 6");
}

static void test_inputs_and_options(void **state)
{
    struct fixture *f = *state;
    const char *s = words(f->arena, part(f->arena, page(f), "id=\"inputs\"", "id=\"sign-off\""));
    for (size_t i = 0; i < f->analysis.premises->n_files; i++)
        assert_has(s, f->analysis.premises->files[i].sha256);
    ASSERT_ORDER(s, "689", "1033", "plateau " PLATEAU_VERSION, "Confidence 95 %", "Resamples 2000",
                 "Seed 1");
    /* where the trial lies is nobody's business, and would change the bytes */
    assert_null(strstr(page(f), "lid-trial"));
}

static void test_sign_off_is_blank(void **state)
{
    struct fixture *f = *state;
    const char *s = part(f->arena, page(f), "id=\"sign-off\"", "</main>");
    ASSERT_ORDER(words(f->arena, s), "Name Signature Date", "Prepared", "Reviewed", "Approved");
    assert_int_equal(count(s, "<td></td><td></td><td></td>"), 3);
}

static void test_every_caution_is_there(void **state)
{
    struct fixture *f = *state;
    const char *s = part(f->arena, page(f), "id=\"cautions\"", "id=\"methods\"");
    assert_has(s, "<li>Work behind closed guards; melt burns.</li>");
    assert_int_equal(count(s, "<li>"), f->analysis.premises->n_cautions);
}

/* ---- form
 * ------------------------------------------------------------------------------------------ */

static void test_tables_have_headers_and_boxes(void **state)
{
    struct fixture *f = *state;
    const char *s = page(f);
    assert_true(count(s, "<table>") > 15);
    assert_int_equal(count(s, "<table>"), count(s, "<caption>"));
    assert_int_equal(count(s, "<table>"), count(s, "role=\"region\" tabindex=\"0\""));
    assert_int_equal(count(s, "<th "), count(s, "<th scope="));
    assert_int_equal(count(s, "<th>"), 0);
    /* as many cells in every row as in its head */
    for (const char *t = strstr(s, "<table>"); t != NULL; t = strstr(t + 1, "<table>")) {
        const char *table = part(f->arena, t, "<table>", "</table>");
        size_t heads = count(part(f->arena, table, "<thead>", "</thead>"), "<th ");
        const char *body = strstr(table, "<tbody>");
        for (const char *r = strstr(body, "<tr"); r != NULL; r = strstr(r + 1, "<tr")) {
            const char *row = part(f->arena, r, "<tr", "</tr>");
            assert_int_equal(count(row, "<th ") + count(row, "<td"), heads);
        }
    }
}

static void test_ids_and_links(void **state)
{
    struct fixture *f = *state;
    const char *s = page(f);
    size_t n = 0;
    for (const char *p = strstr(s, " id=\""); p != NULL; p = strstr(p + 1, " id=\"")) {
        const char *id = arena_copy_n(f->arena, p, (size_t)(strchr(p + 5, '"') - p) + 1);
        if (count(s, id) != 1)
            fail_msg("%s stands %zu times", id, count(s, id));
        n++;
    }
    assert_true(n > 20);
    for (const char *p = strstr(s, "href=\"#"); p != NULL; p = strstr(p + 1, "href=\"#")) {
        const char *id = arena_printf(f->arena, " id=\"%.*s\"", (int)strcspn(p + 7, "\""), p + 7);
        assert_int_equal(count(s, id), 1);
    }
}

static void test_print_and_phone(void **state)
{
    struct fixture *f = *state;
    const char *s = page(f);
    assert_has(s, "<meta name=\"viewport\"");
    assert_has(s, ".page-one{break-after:page}");
    assert_has(s, "break-inside:avoid");
    assert_has(s, "overflow-x:auto");
    /* the setting page ends where the reasons begin */
    ASSERT_ORDER(s, "<div class=\"page-one\">", ">Settings</h2>", "</div>\n<h2 id=\"reasons\">");
    assert_has(s, "Content-Security-Policy");
    assert_string_equal(page(f), page(f));
}

/* ---- hostile
 * ------------------------------------------------------------------------------------- */

/* The sample's hostile text in every field that is left, those of our own code too: a record read
 * back brings them from outside. */
static void poison_finding(struct finding *f, const char *h)
{
    for (size_t i = 0; i < f->n_quantities; i++)
        f->quantities[i].title = f->quantities[i].method = f->quantities[i].reason =
            f->quantities[i].unit = h;
    for (size_t i = 0; i < f->n_criteria; i++)
        f->criteria[i].name = f->criteria[i].title = f->criteria[i].because =
            f->criteria[i].limit_wording = h;
    for (size_t i = 0; i < f->n_conditions; i++)
        f->conditions[i].series = f->conditions[i].left_out = f->conditions[i].file = h;
    for (size_t i = 0; i < f->n_models; i++)
        f->models[i].name = f->models[i].series = f->models[i].formula = f->models[i].stop = h;
    for (size_t i = 0; i < f->n_bounds; i++)
        f->bounds[i].because = f->bounds[i].model = f->bounds[i].criterion = f->bounds[i].study = h;
    for (size_t i = 0; i < f->n_flags; i++)
        f->flags[i].code = f->flags[i].text = f->flags[i].file = h;
    for (size_t i = 0; i < f->n_next_shots; i++)
        f->next_shots[i].setting = f->next_shots[i].promise = f->next_shots[i].why =
            f->next_shots[i].series = h;
    for (size_t i = 0; i < f->n_operating_point; i++)
        f->operating_point[i].setting = f->operating_point[i].from = h;
    for (size_t i = 0; i < f->n_left_out; i++)
        f->left_out[i].file = f->left_out[i].reason = h;
    for (size_t i = 0; i < f->n_tables; i++) {
        f->tables[i].name = f->tables[i].title = h;
        for (size_t k = 0; k < f->tables[i].n_columns; k++)
            f->tables[i].columns[k].title = f->tables[i].columns[k].unit = h;
    }
    for (size_t i = 0; i < f->n_figures; i++) {
        struct figure *g = &f->figures[i];
        g->title = g->description = g->x.title = g->y.title = g->x.unit = g->y.unit = h;
        for (size_t k = 0; k < g->n_series; k++)
            g->series[k].label = h;
        for (size_t k = 0; k < g->n_curves; k++)
            g->curves[k].label = h;
        for (size_t k = 0; k < g->n_bands; k++)
            g->bands[k].label = h;
        for (size_t k = 0; k < g->n_rules; k++)
            g->rules[k].label = h;
        for (size_t k = 0; k < g->n_regions; k++)
            g->regions[k].label = h;
    }
    for (size_t i = 0; i < f->n_other_answers; i++) {
        struct other_answer *o = &f->other_answers[i];
        o->title = o->decision = h;
        for (size_t k = 0; k < o->n_quantities; k++)
            o->quantities[k].title = o->quantities[k].unit = h;
        for (size_t k = 0; k < o->n_criteria; k++)
            o->criteria[k].name = o->criteria[k].title = h;
        for (size_t k = 0; k < o->n_bounds; k++)
            o->bounds[k].setting = h;
    }
    f->study = f->title = f->decision = f->with_excluded = f->without_odd = h;
}

static void poison_window(struct window *w, const char *h)
{
    for (size_t i = 0; i < w->n_settings; i++) {
        struct window_setting *s = &w->settings[i];
        s->setting = s->title = s->aim_because = s->because = s->decided_by = h;
    }
    for (size_t i = 0; i < w->n_none; i++)
        w->none[i].setting = w->none[i].text = h;
    for (size_t i = 0; i < w->n_expected; i++)
        w->expected[i].name = w->expected[i].title = w->expected[i].because = h;
    for (size_t i = 0; i < w->n_flags; i++)
        w->flags[i].code = w->flags[i].text = w->flags[i].file = h;
    for (size_t i = 0; i < w->n_checks; i++)
        w->checks[i].name = w->checks[i].title = w->checks[i].limit_wording = w->checks[i].because =
            h;
    for (size_t i = 0; i < w->n_next_shots; i++)
        w->next_shots[i].setting = w->next_shots[i].series = w->next_shots[i].promise =
            w->next_shots[i].why = h;
    for (size_t i = 0; i < w->n_assumptions; i++)
        w->assumptions[i].text = h;
}

static void poison_premises(struct arena *a, struct premises *p, const char *h)
{
    for (size_t d = 0; d < DIM_N; d++)
        p->display[d].name = h;
    static const char *const keys[] = {"title", "mold", "part",   "press",  "material",
                                       "lot",   "date", "author", "reason", "protocol"};
    struct facts *facts = ARENA_NEW(a, struct facts);
    facts->file = h;
    facts->items = ARENA_ARRAY(a, struct fact, PL_COUNT(keys) + 2);
    for (size_t i = 0; i < PL_COUNT(keys); i++)
        facts->items[facts->n++] =
            (struct fact){.section = "trial", .key = keys[i], .text = h, .given = true};
    facts->items[facts->n++] =
        (struct fact){.section = "criteria", .key = h, .text = h, .given = true, .line = 3};
    facts->items[facts->n++] =
        (struct fact){.section = h, .key = h, .text = h, .given = true, .line = 3};
    p->facts = facts;
    for (size_t i = 0; i < p->n_files; i++) {
        struct premises_file *f = &p->files[i];
        f->name = f->sha256 = f->encoding = f->separator = f->decimal = f->layout = f->units = h;
        f->study = i == 0 ? "" : h;
        for (size_t k = 0; k < f->n_header; k++)
            f->header[k] = h;
        for (size_t k = 0; k < f->n_preamble; k++)
            f->preamble[k] = h;
        for (size_t k = 0; k < f->n_unused; k++)
            f->unused[k] = h;
        for (size_t k = 0; k < f->n_repairs; k++)
            f->repairs[k].code = f->repairs[k].text = f->repairs[k].column = h;
        for (size_t k = 0; k < f->n_excluded; k++)
            f->excluded[k].file = f->excluded[k].reason = h;
        for (size_t k = 0; k < f->n_records; k++) {
            f->records[k].reason = h;
            for (size_t c = 0; c < f->records[k].n_cells; c++)
                f->records[k].cells[c] = h;
        }
    }
    for (size_t i = 0; i < p->n_unread; i++)
        p->unread[i] = h;
    for (size_t i = 0; i < p->n_cautions; i++)
        p->cautions[i] = h;
}

static void test_hostile_text_in_every_field(void **state)
{
    struct fixture *f = *state;
    sample_analysis_hostile(f->arena, &f->analysis);
    assert_harmless(page(f));
    const char *h = sample_hostile_text;
    struct finding *g = sample_findings(&f->analysis);
    for (size_t i = 0; i < f->analysis.n_findings; i++)
        poison_finding(&g[i], h);
    poison_window(sample_window(&f->analysis), h);
    poison_premises(f->arena, sample_premises(&f->analysis), h);
    const char *s = page(f);
    assert_harmless(s);
    /* nothing of it was lost either: it can be read as text */
    assert_true(count(s, "&lt;script&gt;alert(1)&lt;/script&gt; &quot;&#39;&amp;]]&gt;\\x1B[2J") >
                200);
}

/* An attribute cannot be left with a quote. */
static void test_quotes_cannot_leave_an_attribute(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    g[0].study = g[0].figures[0].name = "\" onload=\"x";
    g[0].tables[0].title = "\"><b>";
    const char *s = page(f);
    assert_harmless(s);
    assert_null(strstr(s, "onload=\""));
    assert_has(s, "aria-label=\"&quot;&gt;&lt;b&gt;\"");
}

/* ---- little to show
 * -------------------------------------------------------------------------------- */

static void test_nothing_at_all(void **state)
{
    struct fixture *f = *state;
    f->analysis = (struct analysis){NULL, NULL, 0, NULL, NULL};
    const char *s = page(f);
    assert_harmless(s);
    ASSERT_ORDER(s, "No window was made", ">The evidence</h2>", ">Sign-off</h2>");
    static const struct premises empty = {.confidence = 0.95};
    static const struct window no_window = {.verdict = VERDICT_NONE};
    f->analysis = (struct analysis){&empty, NULL, 0, &no_window, NULL};
    s = page(f);
    assert_harmless(s);
    assert_has(s, "No study of this trial puts a limit on a setting");
}

static void test_missing_numbers_are_not_invented(void **state)
{
    struct fixture *f = *state;
    struct finding *g = sample_findings(&f->analysis);
    for (size_t i = 0; i < g->n_conditions; i++)
        g->conditions[i].mean = g->conditions[i].sd = g->conditions[i].fitted = NAN;
    for (size_t i = 0; i < g->n_criteria; i++)
        g->criteria[i].value = g->criteria[i].low = g->criteria[i].high = NAN;
    for (size_t i = 0; i < g->n_models; i++)
        g->models[i].answer = g->models[i].aicc = g->models[i].residual_sd = NAN;
    g->bounds[0].value = g->bounds[0].low = NAN;
    g->next_shots[0].at = NAN;
    const char *s = page(f);
    assert_harmless(s);
    const char *text = words(f->arena, strstr(s, "<body>"));
    assert_null(strstr(text, " nan"));
    assert_null(strstr(text, " inf "));
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        CASE(test_sections_stand_in_order),
        CASE(test_evidence_of_a_study_stands_in_order),
        CASE(test_four_questions_alphabetical_inside),
        CASE(test_studies_without_data),
        CASE(test_settings_with_units_and_verdicts),
        CASE(test_doubts_stand_beside_the_settings),
        CASE(test_cells_of_cards_carry_their_heads),
        CASE(test_half_an_interval_shows_two_digits),
        CASE(test_conditions_in_units_of_the_first_figure),
        CASE(test_curves_that_were_considered),
        CASE(test_origins),
        CASE(test_what_is_not_proven),
        CASE(test_a_reason_is_said_once),
        CASE(test_checks_of_the_window),
        CASE(test_nothing_left_to_prove),
        CASE(test_shots_that_promise_nothing),
        CASE(test_no_plateau_is_said_first),
        CASE(test_repaired_and_left_out_are_marked),
        CASE(test_how_the_files_were_read),
        CASE(test_inputs_and_options),
        CASE(test_sign_off_is_blank),
        CASE(test_every_caution_is_there),
        CASE(test_tables_have_headers_and_boxes),
        CASE(test_ids_and_links),
        CASE(test_print_and_phone),
        CASE(test_hostile_text_in_every_field),
        CASE(test_quotes_cannot_leave_an_attribute),
        CASE(test_nothing_at_all),
        CASE(test_missing_numbers_are_not_invented),
    };
    return cmocka_run_group_tests_name("report: html", tests, NULL, NULL);
}
