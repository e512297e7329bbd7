/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Uses the base room alone, so that every test program can be linked with it. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "sample_analysis.h"
#include "sample_data.h"

/* ---- hold window ----------------------------------------------------------------------------- */

static void make_hold_window(struct arena *a, struct finding *f)
{
    *f =
        (struct finding){.study = "hold-window",
                         .title = "Hold window",
                         .verdict = VERDICT_NOT_SHOWN,
                         .decision = "Parts were good from 420 to 540 bar at 205 and 225 degC; the "
                                     "corners have not been run.",
                         .rows_used = 30,
                         .arena = a};
    f->n_files = 1;
    f->files = KEEP(a, char *, 1, HOLD_FILE);
    f->n_criteria = f->cap_criteria = 1;
    f->criteria =
        KEEP(a, struct criterion, 1,
             {"reliability", "share of good shots at the edges", DIM_RATIO, "95 %", 0.95, 1.0,
              0.549, 1.0, 0.95, 1, 'C', VERDICT_NOT_SHOWN,
              "5 of 5 shots were good, which shows a share of at least 54.9 %", -1, false});
    f->n_bounds = f->cap_bounds = 2;
    f->bounds = KEEP(a, struct bound, 2,
                     {"hold_pressure", BOUND_LOWER, DIM_PRESSURE, 42.0, 40.0, 42.0, BOUND_LIMIT,
                      "hold-window", NULL, "reliability", VERDICT_NOT_SHOWN,
                      "the lowest hold pressure without sink at both temperatures", 30},
                     {"hold_pressure", BOUND_UPPER, DIM_PRESSURE, 54.0, 54.0, 56.0, BOUND_LIMIT,
                      "hold-window", NULL, "reliability", VERDICT_NOT_SHOWN,
                      "the highest hold pressure without flash at both temperatures", 30});
    f->n_next_shots = f->cap_next_shots = 1;
    f->next_shots = KEEP(a, struct next_shot, 1,
                         {"hold_pressure", DIM_PRESSURE, 42.0, 59, NULL,
                          "59 good shots in a row show 95 % at 95 % confidence",
                          "corner 420 bar, 205 degC has not been challenged", NAN, NAN});
}

/* ---- window and premises --------------------------------------------------------------------- */

static struct window *make_window(struct arena *a, const struct finding *f)
{
    struct window *w = ARENA_NEW(a, struct window);
    const struct bound *freeze = &f[0].bounds[0], *hold = f[1].bounds;
    struct bound *rating = KEEP(a, struct bound, 1,
                                {"hold_pressure", BOUND_UPPER, DIM_PRESSURE, 180.0, 180.0, INFINITY,
                                 BOUND_CONVENTION, "window", NULL, "pressure_use_max", VERDICT_MET,
                                 "90 % of the pressure the press has", 0});
    struct window_setting s[] = {
        {.setting = "hold_pressure",
         .title = "Hold pressure",
         .dimension = DIM_PRESSURE,
         .low = &hold[0],
         .high = &hold[1],
         .low_value = 42.0,
         .high_value = 54.0,
         .aim = 48.0,
         .aim_because = "centre of the rectangle, to the nearest 1 bar",
         .margin = NAN,
         .verdict = VERDICT_NOT_SHOWN,
         .because = "Parts were good from 420 to 540 bar at both melt temperatures, but nobody has "
                    "run the corners yet.",
         .decided_by = "hold-window",
         .n_runners_up = 1,
         .running = 40.0,
         .running_verdict = VERDICT_NOT_MET},
        {.setting = "hold_time",
         .title = "Hold time",
         .dimension = DIM_TIME,
         .low = freeze,
         .low_value = 5.8,
         .high_value = NAN,
         .aim = 6.3,
         .aim_because = "bound 5.8 s + margin 0.5 s, up to the next 0.1 s",
         .margin = 0.5,
         .verdict = VERDICT_MET,
         .by_convention = true,
         .because = "Weight is within 0.1 % of its plateau from 5.8 s on.",
         .decided_by = "gate-freeze",
         .running = 6.5,
         .running_verdict = VERDICT_MET},
    };
    w->n_settings = PL_COUNT(s);
    w->settings = sample_keep(a, s, sizeof *s, w->n_settings);
    w->settings[0].runners_up = ARENA_ARRAY(a, const struct bound *, 1);
    w->settings[0].runners_up[0] = rating;

    struct no_window none = {"clamp_force", NULL, rating,
                             "flash needs at least 900 kN and the mold is rated for 850 kN"};
    w->n_none = 1;
    w->none = sample_keep(a, &none, sizeof none, 1);
    w->n_expected = 2;
    w->expected = KEEP(a, struct expected_response, 2,
                       {"cushion", "cushion", DIM_LENGTH, 5.2, NAN, NAN, NAN, NAN,
                        "one press reading, no interval"},
                       {"part_weight", "part weight", DIM_MASS, 25.18, 25.169, 25.191, 25.151,
                        25.209, "fit and shot scatter"});
    w->n_checks = 1;
    w->checks =
        KEEP(a, struct criterion, 1,
             {.name = "pressure_use_aim",
              .title = "pressure use at the aim",
              .dimension = DIM_RATIO,
              .limit_wording = "80 % of the available pressure",
              .limit = 0.8,
              .value = 0.79,
              .low = 0.77,
              .high = 0.81,
              .level = 0.95,
              .sides = 2,
              .origin = 'C',
              .verdict = VERDICT_NOT_SHOWN,
              .because = "filling in 0.6 s takes 79 % (77 to 81 %) of the 180 MPa available",
              .shots_to_decide = -1,
              .own_verdict = true});
    w->n_next_shots = 1;
    w->next_shots = KEEP(a, struct next_shot, 1,
                         {"hold_time", DIM_TIME, 6.3, 3, "corner 225 degC melt temperature",
                          "shows whether the gate is frozen there",
                          "the bound was found at 217 degC", NAN, NAN});
    w->n_flags = 1;
    w->flags = KEEP(a, struct flag, 1,
                    {"worst-corner-untested", FLAG_DOUBT,
                     "hold time was found at 217 degC; the window reaches 225 degC", NULL, 0});
    w->n_assumptions = 1;
    w->assumptions = KEEP(a, struct assumption, 1, {"repeatability of hold time taken as 0"});
    w->verdict = VERDICT_NOT_SHOWN;
    return w;
}

static struct facts *make_facts(struct arena *a)
{
    static const struct fact facts[] = {
        {"trial", "title", FACT_TEXT, DIM_TEXT, NAN, NAN, NAN, "Lid, first trial", 2, true, 0},
        {"trial", "mold", FACT_TEXT, DIM_TEXT, NAN, NAN, NAN, "M-117", 3, true, 0},
        {"press", "time_step", FACT_QUANTITY, DIM_TIME, 0.1, 0.1, NAN, "0.1 s", 6, true, 0},
        {"press", "pressure_step", FACT_QUANTITY, DIM_PRESSURE, 0.1, 0.1, NAN, "1 bar", 7, true, 0},
        {"material", "melt_temperature", FACT_RANGE, DIM_TEMPERATURE, 200.0, 230.0, NAN,
         "200..230 degC", 10, true, 0},
        {"dimensions", "pull_force", FACT_LIMITS, DIM_FORCE, 0.012, INFINITY, NAN, ">= 12 N", 13,
         true, 0},
        {"criteria", "hold_time_margin", FACT_QUANTITY, DIM_TIME, 0.5, 0.5, 0.05,
         "0.5 s or 5 %, the larger", 0, false, 'C'},
        {"running", "hold_time", FACT_QUANTITY, DIM_TIME, 6.5, 6.5, NAN, "6.5 s", 16, true, 0},
    };
    struct facts *f = ARENA_NEW(a, struct facts);
    *f = (struct facts){"trial.ini", sample_keep(a, facts, sizeof facts[0], PL_COUNT(facts)),
                        PL_COUNT(facts), PL_COUNT(facts)};
    return f;
}

static void add_records(struct arena *a, struct premises_file *f)
{
    f->n_header = 3;
    f->header = KEEP(a, char *, 3, "Hold time", "Part weight", "exclude");
    f->n_records = SAMPLE_CONDITIONS * SAMPLE_SHOTS + 2;
    f->records = ARENA_ARRAY(a, struct premises_record, f->n_records);
    for (size_t k = 0; k < f->n_records; k++) {
        size_t i = k / SAMPLE_SHOTS, j = k % SAMPLE_SHOTS;
        struct premises_record *r = &f->records[k];
        r->line = sample_line(i, j);
        r->n_cells = 3;
        r->cells = ARENA_ARRAY(a, const char *, 3);
        r->cells[0] = i < SAMPLE_CONDITIONS ? arena_printf(a, "%.1f", sample_setting(i)) : "12.0";
        r->cells[1] =
            i < SAMPLE_CONDITIONS ? arena_printf(a, "%.3f", sample_weight(i, j)) : "25.210";
        r->cells[2] = "";
        if (i < SAMPLE_CONDITIONS && sample_is_excluded(i, j)) {
            r->left_out = true;
            r->reason = r->cells[2] = "part fell on the floor";
        }
        if (k == 3) {
            r->cells[1] = arena_printf(a, "%.3f g", sample_weight(i, j));
            r->repaired = KEEP(a, bool, 3, false, true, false);
        }
    }
    f->records[f->n_records - 1].left_out = true;
    f->records[f->n_records - 1].reason = "average row";
    f->records[f->n_records - 1].cells[0] = "average";
}

/* A version with all ten studies. */
static const struct premises_study sample_studies[] = {
    {"cavity-balance", "Cavity balance", NULL, QUESTION_MOLD},
    {"clamp", "Clamp", NULL, QUESTION_MOLD},
    {"cooling", "Cooling", NULL, QUESTION_WINDOW},
    {"gate-freeze", "Gate freeze", "Weight against hold time.", QUESTION_WINDOW},
    {"gauge", "Gauge", NULL, QUESTION_TRUST},
    {"hold-window", "Hold window", "Every shot is judged in words.", QUESTION_WINDOW},
    {"press", "Press", NULL, QUESTION_TRUST},
    {"pressure-drop", "Pressure drop", NULL, QUESTION_MOLD},
    {"runs", "Runs", NULL, QUESTION_HOLDS},
    {"viscosity", "Viscosity", NULL, QUESTION_WINDOW},
};

static void add_files(struct arena *a, struct premises *p)
{
    static const struct premises_file files[] = {
        {.name = "trial.ini",
         .study = "",
         .sha256 = "3f1b0c0d7d2c1a5e9b8f7a6c5d4e3f2a1b0c9d8e7f6a5b4c3d2e1f0a9b8c7d6e",
         .bytes = 412,
         .encoding = "UTF-8"},
        {.name = FREEZE_FILE,
         .study = "gate-freeze",
         .sha256 = "a1b2c3d4e5f60718293a4b5c6d7e8f90a1b2c3d4e5f60718293a4b5c6d7e8f90",
         .bytes = 689,
         .encoding = "UTF-8 with byte order mark",
         .separator = "semicolon",
         .decimal = "comma",
         .layout = "one column",
         .header_line = 3,
         .units_line = 4,
         .rows_read = 26,
         .rows_used = 23,
         .rows_left_out = 3,
         .units = "hold_time s, weight g"},
        {.name = HOLD_FILE,
         .study = "hold-window",
         .sha256 = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff",
         .bytes = 1033,
         .encoding = "Windows-1252",
         .separator = "comma",
         .decimal = "point",
         .layout = "one column",
         .header_line = 1,
         .rows_read = 30,
         .rows_used = 30,
         .units = "hold_pressure bar, melt_temperature degC"},
    };
    p->n_files = PL_COUNT(files);
    p->files = sample_keep(a, files, sizeof files[0], p->n_files);
    struct premises_file *f = &p->files[1];
    f->n_preamble = 1;
    f->preamble = KEEP(a, char *, 1, "Freeze study, night shift");
    f->n_unused = 1;
    f->unused = KEEP(a, char *, 1, "Operator");
    f->n_repairs = 2;
    f->repairs = KEEP(
        a, struct premises_repair, 2,
        {"unit-in-cell", "a unit behind the number was read and taken off", "weight", 1, {8, 0, 0}},
        {"decimal-comma", "the decimal mark is a comma", NULL, 52, {5, 6, 7}});
    f->n_excluded = 1;
    f->excluded = KEEP(a, struct row_use, 1,
                       {FREEZE_FILE, sample_line(4, 1), "part fell on the floor", true});
    add_records(a, f);
}

static struct premises *make_premises(struct arena *a)
{
    struct premises *p = ARENA_NEW(a, struct premises);
    *p = (struct premises){.facts = make_facts(a),
                           .path = "lid-trial",
                           .confidence = 0.95,
                           .resamples = 2000,
                           .seed = 1};
    for (int d = 0; d < DIM_N; d++)
        p->display[d] = (struct display_unit){dimension_unit((enum dimension)d), 1.0, 0.0};
    p->display[DIM_PRESSURE] = (struct display_unit){"bar", 0.1, 0.0};
    p->display[DIM_RATIO] = (struct display_unit){"%", 0.01, 0.0};
    add_files(a, p);
    p->n_unread = 1;
    p->unread = KEEP(a, char *, 1, "notes.csv");
    p->studies = sample_studies;
    p->n_studies = PL_COUNT(sample_studies);
    p->n_cautions = 2;
    p->cautions = KEEP(a, char *, 2, "Work behind closed guards; melt burns.",
                       "Never exceed the mold's rated clamp force to complete a study.");
    return p;
}

void sample_analysis(struct arena *a, struct analysis *out)
{
    struct finding *f = ARENA_ARRAY(a, struct finding, 2);
    sample_gate_freeze(a, &f[0]);
    make_hold_window(a, &f[1]);
    *out = (struct analysis){
        .premises = make_premises(a), .findings = f, .n_findings = 2, .window = make_window(a, f)};
}

struct finding *sample_findings(const struct analysis *x)
{
    return (struct finding *)(uintptr_t)x->findings;
}

struct window *sample_window(const struct analysis *x)
{
    return (struct window *)(uintptr_t)x->window;
}

struct premises *sample_premises(const struct analysis *x)
{
    return (struct premises *)(uintptr_t)x->premises;
}

/* ---- variants -------------------------------------------------------------------------------- */

const char sample_hostile_text[] = "<script>alert(1)</script> \"'&]]>\x1b[2J\x1b]0;owned\x07 "
                                   "\xe2\x80\xae txt \xff\xc3 \x9b\x01 {\"a\":1}";

void sample_analysis_hostile(struct arena *a, struct analysis *out)
{
    sample_analysis(a, out);
    const char *h = sample_hostile_text;
    struct finding *f = sample_findings(out);
    struct premises *p = sample_premises(out);
    struct facts *facts = make_facts(a);
    facts->items[0].text = facts->items[1].text = facts->items[5].text = facts->items[5].key = h;
    p->facts = facts;
    f->files[0] = f->decision = f->with_excluded = h;
    f->flags[0].text = f->flags[0].file = h;
    f->left_out[0].reason = f->left_out[0].file = h;
    f->conditions[0].series = f->conditions[0].left_out = f->conditions[0].file = h;
    f->quantities[0].name = f->quantities[0].title = h;
    f->criteria[1].title = f->criteria[1].because = f->criteria[1].limit_wording = h;
    f->next_shots[0].promise = f->next_shots[0].series = f->next_shots[0].why = h;
    f->tables[0].texts[3] = f->tables[0].title = h;
    f->figures[0].title = f->figures[0].description = f->figures[0].x.title = h;
    f->figures[0].series[0].label = f->figures[0].rules[0].label = h;
    f->figures[0].curves[0].label = f->figures[0].regions[0].label = h;
    f->figures[0].series[3].point_label = KEEP(a, char *, 1, sample_hostile_text);
    struct premises_file *file = &p->files[1];
    file->name = file->preamble[0] = file->unused[0] = file->units = h;
    file->header[1] = file->records[0].cells[2] = file->records[13].reason = h;
    file->repairs[0].text = file->repairs[0].column = file->excluded[0].reason = h;
    p->unread[0] = h;
    struct window *w = sample_window(out);
    w->settings[1].because = w->none[0].text = w->flags[0].text = h;
    w->expected[0].because = w->assumptions[0].text = h;
    w->checks[0].because = w->next_shots[0].why = h;
}

void sample_analysis_not_frozen(struct arena *a, struct analysis *out)
{
    sample_analysis(a, out);
    out->n_findings = 1;
    struct finding *f = sample_findings(out);
    f->verdict = VERDICT_NOT_MET;
    f->decision =
        "No hold time can be recommended: weight is still rising at 9 s, the longest time "
        "tested.";
    f->n_bounds = 0;
    f->n_other_answers = 0;
    f->with_excluded = NULL;
    f->quantities[0].value = NAN;
    f->quantities[0].high = INFINITY;
    f->quantities[0].reason = "no plateau in the tested range";
    f->n_criteria = 1;
    f->criteria[0].verdict = VERDICT_NOT_MET;
    f->criteria[0].because = "from 7 to 9 s the weight still rises by 0.06 g";
    f->n_flags = 1;
    f->flags[0] = (struct flag){"gate-not-frozen", FLAG_STOP,
                                "weight still rises by 0.12 %/s at 9 s, the longest time tested",
                                FREEZE_FILE, sample_line(SAMPLE_CONDITIONS - 1, 0)};
    f->n_next_shots = 1;
    f->next_shots[0] = (struct next_shot){"hold_time",
                                          DIM_TIME,
                                          12.0,
                                          3,
                                          NULL,
                                          "shows whether the gate freezes at all",
                                          "the tested range ends before a plateau",
                                          NAN,
                                          NAN};
    struct window *w = sample_window(out);
    w->settings = &w->settings[1];
    w->n_settings = 1;
    struct window_setting *s = w->settings;
    s->low = s->high = NULL;
    s->low_value = s->high_value = s->aim = s->margin = NAN;
    s->aim_because = "there is no lower bound";
    s->verdict = VERDICT_NOT_MET;
    s->by_convention = false;
    s->because = "weight is still rising at 9 s, the longest time tested";
    s->running_verdict = VERDICT_NOT_SHOWN;
    w->n_none = w->n_flags = w->n_expected = w->n_assumptions = 0;
    w->n_checks = w->n_next_shots = 0;
    w->verdict = VERDICT_NOT_MET;
    sample_premises(out)->n_files = 2;
}
