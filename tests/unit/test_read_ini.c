/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial.ini: every form of value, every message, with its place. Expected numbers are worked out
 * from the text beside them with the unit factors of test_read_units.c.
 */
#include <string.h>

#include "near.h"
#include "read/ini.h"
#include "read/ini_codes.h"
#include "read/units.h"

/* ---- a request of two studies -----------------------------------------------------------------
 */

static const struct column_spec gate_columns[] = {
    {"hold_time", "pack time", DIM_TIME, COLUMN_REQUIRED | COLUMN_SETTING, 0.0, 600.0, "hold time"},
    {"weight", "", DIM_MASS, COLUMN_REQUIRED | COLUMN_PER_CAVITY, 1e-4, 1e6, "weight"},
};
static const struct column_spec viscosity_columns[] = {
    {"fill_time", "", DIM_TIME, COLUMN_REQUIRED, 1e-3, 600.0, "fill time"},
    {"transfer_pressure", "", DIM_PRESSURE, COLUMN_REQUIRED | COLUMN_BASIS, 0.0, 600.0, "pressure"},
    {"injection_speed", "", DIM_SPEED, 0, 0.0, 5000.0, "speed"},
    {"condition", "", DIM_TEXT, 0, 0.0, 0.0, "condition"},
    {"age", "", DIM_AGE, 0, 0.0, 1e5, "age"},
};
static const struct study_input studies[] = {
    {"gate-freeze", gate_columns, PL_COUNT(gate_columns)},
    {"viscosity", viscosity_columns, PL_COUNT(viscosity_columns)},
};
static const struct criterion_spec criteria[] = {
    {"freeze_tolerance", DIM_MASS, NAN, 0.001, 'O', "0.1 % of the plateau weight", ""},
    {"hold_time_margin", DIM_TIME, 0.5, 0.05, 'C', "0.5 s or 5 %, the larger", ""},
    {"cooling_time_margin", DIM_TIME, 0.5, NAN, 'C', "0.5 s", ""},
    {"conditioning_time", DIM_AGE, 24.0, NAN, 'S', "24 h", ""},
    {"speed_disturbance", DIM_RATIO, NAN, 0.1, 'O', "10 % slower", ""},
    {"pressure_use_max", DIM_RATIO, 0.9, NAN, 'C', "90 %", ""},
    {"ppk_min", DIM_COUNT, 1.33, NAN, 'C', "1.33", ""},
    {"hold_window_min_temperature_width", DIM_TEMPERATURE_STEP, 10.0, NAN, 'O', "10 K", ""},
};
static const struct read_request request = {studies, PL_COUNT(studies), criteria,
                                            PL_COUNT(criteria)};

struct loaded {
    struct arena *arena;
    struct facts facts;
    struct diag_list diags;
};

static struct loaded load(const char *ini)
{
    struct loaded l = {.arena = arena_new()};
    struct error e = {0};
    diag_init(&l.diags, l.arena);
    assert_int_equal(
        facts_load_bytes(l.arena, "trial.ini", ini, strlen(ini), &request, &l.facts, &l.diags, &e),
        ERR_NONE);
    return l;
}

static void show(const struct loaded *l)
{
    for (size_t i = 0; i < l->diags.n; i++)
        print_error("  %ld:%d-%d %s [%s] %s | %s | %s\n", l->diags.items[i].places[0].line,
                    l->diags.items[i].places[0].column_from, l->diags.items[i].places[0].column_to,
                    l->diags.items[i].code, l->diags.items[i].column, l->diags.items[i].message,
                    l->diags.items[i].expected, l->diags.items[i].remedy);
}

/* ---- values that are read ---------------------------------------------------------------------
 */

#define NONE NAN

struct good_case {
    const char *ini, *section, *key;
    enum fact_kind kind;
    double low, high, relative;
    const char *text;
    size_t notes;
};

static const struct good_case good_cases[] = {
    /* quantities */
    {"[press]\nmax_injection_pressure = 2200 bar", "press", "max_injection_pressure", FACT_QUANTITY,
     220.0, 220.0, NONE, "2200 bar", 0},
    {"[press]\nmax_injection_pressure=31908 psi", "press", "max_injection_pressure", FACT_QUANTITY,
     219.997914, 219.997914, NONE, "31908 psi", 0},
    {"[PRESS]\nMax Injection-Pressure = 220MPa", "press", "max_injection_pressure", FACT_QUANTITY,
     220.0, 220.0, NONE, "220MPa", 0},
    {"[running]\nfill_time = 0.85 s", "running", "fill_time", FACT_QUANTITY, 0.85, 0.85, NONE,
     "0.85 s", 0},
    {"[running]\nfill_time = 850 ms", "running", "fill_time", FACT_QUANTITY, 0.85, 0.85, NONE,
     "850 ms", 0},
    {"[running]\r\nfill_time = 8.5e-1 s\r\n", "running", "fill_time", FACT_QUANTITY, 0.85, 0.85,
     NONE, "8.5e-1 s", 0},
    {"[running]\rfill_time = 0.85 s # with the old lot\r", "running", "fill_time", FACT_QUANTITY,
     0.85, 0.85, NONE, "0.85 s", 0},
    {"[running]\nmelt_temperature = 446 °F", "running", "melt_temperature", FACT_QUANTITY, 230.0,
     230.0, NONE, "446 °F", 0},
    {"[running]\nmold_temperature = -5 °C", "running", "mold_temperature", FACT_QUANTITY, -5.0,
     -5.0, NONE, "-5 °C", 0},
    {"[running]\nmold_temperature = −5 °C", "running", "mold_temperature", FACT_QUANTITY, -5.0,
     -5.0, NONE, "−5 °C", 0},
    {"[running]\ninjection_speed = 2 in/s", "running", "injection_speed", FACT_QUANTITY, 50.8, 50.8,
     NONE, "2 in/s", 0},
    {"[mold]\nprojected_area = 182 cm²", "mold", "projected_area", FACT_QUANTITY, 18200.0, 18200.0,
     NONE, "182 cm²", 0},
    {"[mold]\npart_weight = 1 oz", "mold", "part_weight", FACT_QUANTITY, 28.349523125, 28.349523125,
     NONE, "1 oz", 0},
    {"[mold]\ncavities = 4", "mold", "cavities", FACT_QUANTITY, 4.0, 4.0, NONE, "4", 0},
    {"[press]\nmax_clamp_force = 100 US tons", "press", "max_clamp_force", FACT_QUANTITY, 889.6443,
     889.6443, NONE, "100 US tons", 0},
    {"[material]\nmax_shear_rate = 60000 1/s", "material", "max_shear_rate", FACT_QUANTITY, 60000.0,
     60000.0, NONE, "60000 1/s", 0},
    {"[material]\nmax_residence_time = 8 min", "material", "max_residence_time", FACT_QUANTITY,
     480.0, 480.0, NONE, "8 min", 0},
    {"[material]\nmelt_density = 0.74 g/cm3", "material", "melt_density", FACT_QUANTITY, 0.74, 0.74,
     NONE, "0.74 g/cm3", 0},
    {"[report]\nconfidence = 90 %", "report", "confidence", FACT_QUANTITY, 0.9, 0.9, NONE, "90 %",
     0},
    {"[report]\nconfidence = 99%", "report", "confidence", FACT_QUANTITY, 0.99, 0.99, NONE, "99%",
     0},
    {"[report]\nseed = 4294967295", "report", "seed", FACT_QUANTITY, 4294967295.0, 4294967295.0,
     NONE, "4294967295", 0},
    /* decimal commas and marks between thousands */
    {"[running]\nfill_time = 0,85 s", "running", "fill_time", FACT_QUANTITY, 0.85, 0.85, NONE,
     "0,85 s", 1},
    {"[running]\nfill_time = 0,850 s", "running", "fill_time", FACT_QUANTITY, 0.85, 0.85, NONE,
     "0,850 s", 1},
    {"[running]\nhold_time = 6,5s", "running", "hold_time", FACT_QUANTITY, 6.5, 6.5, NONE, "6,5s",
     1},
    {"[press]\nmax_injection_pressure = 2 200 bar", "press", "max_injection_pressure",
     FACT_QUANTITY, 220.0, 220.0, NONE, "2 200 bar", 1},
    {"[press]\nmax_injection_pressure = 2'200 bar", "press", "max_injection_pressure",
     FACT_QUANTITY, 220.0, 220.0, NONE, "2'200 bar", 1},
    {"[press]\nmax_injection_pressure = 2,200.5 bar", "press", "max_injection_pressure",
     FACT_QUANTITY, 220.05, 220.05, NONE, "2,200.5 bar", 1},
    {"[press]\nmax_injection_pressure = 2.200,5 bar", "press", "max_injection_pressure",
     FACT_QUANTITY, 220.05, 220.05, NONE, "2.200,5 bar", 1},
    {"[running]\nmold_temperature = –5 °C", "running", "mold_temperature", FACT_QUANTITY, -5.0,
     -5.0, NONE, "–5 °C", 1},
    {"[dimensions]\nlength = 31.20 +0.05 –0.05 mm", "dimensions", "length", FACT_LIMITS, 31.15,
     31.25, NONE, "31.20 +0.05 –0.05 mm", 1},
    {"[trial]\n\xC2\xA0mold\xC2\xA0=\xC2\xA0M-1\xC2\xA0", "trial", "mold", FACT_TEXT, NONE, NONE,
     NONE, "M-1", 0},
    /* a single dot is the decimal point, three digits behind it or not */
    {"[mold]\ngate_thickness = 1.250 mm", "mold", "gate_thickness", FACT_QUANTITY, 1.25, 1.25, NONE,
     "1.250 mm", 0},
    /* ranges */
    {"[material]\nmelt_temperature = 200..230 degC", "material", "melt_temperature", FACT_RANGE,
     200.0, 230.0, NONE, "200..230 degC", 0},
    {"[material]\nmelt_temperature = 200 .. 230 °C", "material", "melt_temperature", FACT_RANGE,
     200.0, 230.0, NONE, "200 .. 230 °C", 0},
    {"[material]\nmelt_temperature = 200 to 230 °C", "material", "melt_temperature", FACT_RANGE,
     200.0, 230.0, NONE, "200 to 230 °C", 0},
    {"[material]\nmelt_temperature = 200 °C … 230 °C", "material", "melt_temperature", FACT_RANGE,
     200.0, 230.0, NONE, "200 °C … 230 °C", 0},
    {"[material]\nmelt_temperature = 392..446 degF", "material", "melt_temperature", FACT_RANGE,
     200.0, 230.0, NONE, "392..446 degF", 0},
    {"[material]\nmold_temperature = 40 degC", "material", "mold_temperature", FACT_RANGE, 40.0,
     40.0, NONE, "40 degC", 0},
    {"[material]\nmold_temperature = -10..5.5 degC", "material", "mold_temperature", FACT_RANGE,
     -10.0, 5.5, NONE, "-10..5.5 degC", 0},
    /* limits */
    {"[dimensions]\nlength = 31.20 +0.05 -0.05 mm", "dimensions", "length", FACT_LIMITS, 31.15,
     31.25, NONE, "31.20 +0.05 -0.05 mm", 0},
    {"[dimensions]\nlength = 31.20+0.05/-0.02mm", "dimensions", "length", FACT_LIMITS, 31.18, 31.25,
     NONE, "31.20+0.05/-0.02mm", 0},
    {"[dimensions]\nlength = 31.20 mm +0.05 mm -0 mm", "dimensions", "length", FACT_LIMITS, 31.20,
     31.25, NONE, "31.20 mm +0.05 mm -0 mm", 0},
    {"[dimensions]\nlength = 31.20 -0.02 +0.05 mm", "dimensions", "length", FACT_LIMITS, 31.18,
     31.25, NONE, "31.20 -0.02 +0.05 mm", 0},
    {"[dimensions]\nlength = 31.20 +0.05 +0.02 mm", "dimensions", "length", FACT_LIMITS, 31.22,
     31.25, NONE, "31.20 +0.05 +0.02 mm", 0},
    {"[dimensions]\nlength = 31.20 ± 0.05 mm", "dimensions", "length", FACT_LIMITS, 31.15, 31.25,
     NONE, "31.20 ± 0.05 mm", 0},
    {"[dimensions]\nlength = 31.20 +/- 0.05 mm", "dimensions", "length", FACT_LIMITS, 31.15, 31.25,
     NONE, "31.20 +/- 0.05 mm", 0},
    {"[dimensions]\nlength = 31,20 +0,05 -0,05 mm", "dimensions", "length", FACT_LIMITS, 31.15,
     31.25, NONE, "31,20 +0,05 -0,05 mm", 1},
    {"[dimensions]\nlength = 1 +0.002 -0.002 in", "dimensions", "length", FACT_LIMITS, 25.3492,
     25.4508, NONE, "1 +0.002 -0.002 in", 0},
    {"[dimensions]\nwall = 1.10..1.16 mm", "dimensions", "wall", FACT_LIMITS, 1.10, 1.16, NONE,
     "1.10..1.16 mm", 0},
    {"[dimensions]\npull_force >= 12 N", "dimensions", "pull_force", FACT_LIMITS, 0.012, INFINITY,
     NONE, ">= 12 N", 0},
    {"[dimensions]\npull_force = >= 12 N", "dimensions", "pull_force", FACT_LIMITS, 0.012, INFINITY,
     NONE, ">= 12 N", 0},
    {"[dimensions]\npull_force ≥ 12 N", "dimensions", "pull_force", FACT_LIMITS, 0.012, INFINITY,
     NONE, "≥ 12 N", 0},
    {"[dimensions]\nwarp <= 0.3 mm", "dimensions", "warp", FACT_LIMITS, -INFINITY, 0.3, NONE,
     "<= 0.3 mm", 0},
    {"[dimensions]\nwarp<0.3 mm", "dimensions", "warp", FACT_LIMITS, -INFINITY, 0.3, NONE,
     "<0.3 mm", 0},
    {"[dimensions]\nflange = 9.0..9.4 mm, not at ejection", "dimensions", "flange", FACT_LIMITS,
     9.0, 9.4, NONE, "9.0..9.4 mm, not at ejection", 0},
    {"[dimensions]\nflange = 9.0..9.4 mm,  Not At Ejection", "dimensions", "flange", FACT_LIMITS,
     9.0, 9.4, NONE, "9.0..9.4 mm, not at ejection", 0},
    {"[dimensions]\ngloss = 0.7..0.9 1", "dimensions", "gloss", FACT_LIMITS, 0.7, 0.9, NONE,
     "0.7..0.9 1", 0},
    /* criteria */
    {"[criteria]\nfreeze_tolerance = 0.2 %", "criteria", "freeze_tolerance", FACT_QUANTITY, NONE,
     NONE, 0.002, "0.2 %", 0},
    {"[criteria]\nfreeze_tolerance = 0.2 % of the plateau weight", "criteria", "freeze_tolerance",
     FACT_QUANTITY, NONE, NONE, 0.002, "0.2 % of the plateau weight", 0},
    {"[criteria]\nfreeze_tolerance = 0.02 g", "criteria", "freeze_tolerance", FACT_QUANTITY, 0.02,
     0.02, NONE, "0.02 g", 0},
    {"[criteria]\nfreeze_tolerance = 0.02 g or 0.1 %", "criteria", "freeze_tolerance",
     FACT_QUANTITY, 0.02, 0.02, 0.001, "0.02 g or 0.1 %", 0},
    {"[criteria]\nhold_time_margin = 0.8 s or 4 %, the larger", "criteria", "hold_time_margin",
     FACT_QUANTITY, 0.8, 0.8, 0.04, "0.8 s or 4 %, the larger", 0},
    {"[criteria]\nhold_time_margin = 4 % or 0.8 s", "criteria", "hold_time_margin", FACT_QUANTITY,
     0.8, 0.8, 0.04, "4 % or 0.8 s", 0},
    {"[criteria]\nhold_time_margin = 0.8 s", "criteria", "hold_time_margin", FACT_QUANTITY, 0.8,
     0.8, NONE, "0.8 s", 0},
    {"[criteria]\nconditioning_time = 48 h", "criteria", "conditioning_time", FACT_QUANTITY, 48.0,
     48.0, NONE, "48 h", 0},
    {"[criteria]\nconditioning_time = 2 days", "criteria", "conditioning_time", FACT_QUANTITY, 48.0,
     48.0, NONE, "2 days", 0},
    {"[criteria]\nspeed_disturbance = 5 % slower", "criteria", "speed_disturbance", FACT_QUANTITY,
     NONE, NONE, 0.05, "5 % slower", 0},
    {"[criteria]\npressure_use_max = 85 %", "criteria", "pressure_use_max", FACT_QUANTITY, 0.85,
     0.85, NONE, "85 %", 0},
    {"[criteria]\nppk_min = 1.67", "criteria", "ppk_min", FACT_QUANTITY, 1.67, 1.67, NONE, "1.67",
     0},
    {"[criteria]\nhold_window_min_temperature_width = 18 °F", "criteria",
     "hold_window_min_temperature_width", FACT_QUANTITY, 10.0, 10.0, NONE, "18 °F", 0},
    /* words and lists */
    {"[press]\npressure_basis = Melt", "press", "pressure_basis", FACT_TEXT, NONE, NONE, NONE,
     "melt", 0},
    {"[mold]\ngate = OPEN", "mold", "gate", FACT_TEXT, NONE, NONE, NONE, "open", 0},
    {"[files]\ndecimal = ,", "files", "decimal", FACT_TEXT, NONE, NONE, NONE, "comma", 0},
    {"[files]\nseparator = ;", "files", "separator", FACT_TEXT, NONE, NONE, NONE, "semicolon", 0},
    {"[files]\nencoding = utf8", "files", "encoding", FACT_TEXT, NONE, NONE, NONE, "UTF-8", 0},
    {"[files]\nViscosity.Decimal = point", "files", "viscosity.decimal", FACT_TEXT, NONE, NONE,
     NONE, "point", 0},
    {"[files]\ngate_freeze.encoding = cp1252", "files", "gate-freeze.encoding", FACT_TEXT, NONE,
     NONE, NONE, "Windows-1252", 0},
    {"[report]\nunits = As Entered", "report", "units", FACT_TEXT, NONE, NONE, NONE, "as-entered",
     0},
    {"[mold]\nequal_paths = 1 3 ; 2 4", "mold", "equal_paths", FACT_TEXT, NONE, NONE, NONE,
     "1 3 ; 2 4", 0},
    {"[mold]\nequal_paths = 1,3;2, 4\ncavities = 4", "mold", "equal_paths", FACT_TEXT, NONE, NONE,
     NONE, "1 3 ; 2 4", 0},
    {"[trial]\ntitle = First trial; lot 3 # 2", "trial", "title", FACT_TEXT, NONE, NONE, NONE,
     "First trial; lot 3 # 2", 0},
    {"[trial]\nmold = M=12", "trial", "mold", FACT_TEXT, NONE, NONE, NONE, "M=12", 0},
    {"[trial]\npart = a\x1b[31mb", "trial", "part", FACT_TEXT, NONE, NONE, NONE, "a\\x1B[31mb", 0},
    {"\xEF\xBB\xBF[trial]\nmold = with a mark in front", "trial", "mold", FACT_TEXT, NONE, NONE,
     NONE, "with a mark in front", 0},
    {"  ; a comment\n# another\n\n  [ trial ]  \n  mold  =  blanks  ", "trial", "mold", FACT_TEXT,
     NONE, NONE, NONE, "blanks", 0},
    {"[studies]\ngate_freeze = saturday/freeze mold 12.csv ; b.csv", "studies", "gate-freeze",
     FACT_TEXT, NONE, NONE, NONE, "saturday/freeze mold 12.csv ; b.csv", 0},
    {"[columns]\nviscosity.fill time = Einspritzzeit", "columns", "viscosity.fill_time", FACT_TEXT,
     NONE, NONE, NONE, "Einspritzzeit", 0},
    {"[columns]\nviscosity.shot = Nr", "columns", "viscosity.shot", FACT_TEXT, NONE, NONE, NONE,
     "Nr", 0},
    {"[columns]\nviscosity.wall = Wand\n[dimensions]\nwall = 1..2 mm", "columns", "viscosity.wall",
     FACT_TEXT, NONE, NONE, NONE, "Wand", 0},
    {"[units]\nviscosity.transfer_pressure = psi", "units", "viscosity.transfer_pressure",
     FACT_TEXT, NONE, NONE, NONE, "psi", 0},
    {"[units]\nviscosity.injection_speed = cm3/s", "units", "viscosity.injection_speed", FACT_TEXT,
     NONE, NONE, NONE, "cm3/s", 0},
    {"[units]\nviscosity.injection_speed = %", "units", "viscosity.injection_speed", FACT_TEXT,
     NONE, NONE, NONE, "%", 0},
    {"[units]\nviscosity.age = days", "units", "viscosity.age", FACT_TEXT, NONE, NONE, NONE, "days",
     0},
    /* an hourly rate, its currency */
    {"[economics]\npress_rate = 45 EUR/h", "economics", "press_rate", FACT_QUANTITY, 45.0, 45.0,
     NONE, "45 EUR/h", 0},
    {"[economics]\npress_rate = 45 EUR/h", "economics", "currency", FACT_TEXT, NONE, NONE, NONE,
     "EUR", 0},
    {"[economics]\npress_rate = $ 52.50 per hour", "economics", "currency", FACT_TEXT, NONE, NONE,
     NONE, "$", 0},
    {"[economics]\npress_rate = 45 /h\ncurrency = CHF", "economics", "currency", FACT_TEXT, NONE,
     NONE, NONE, "CHF", 0},
    /* speeds that need the press: 35 mm screw, 962.11275 mm2: 50000 / 962.11275 mm/s */
    {"[running]\ninjection_speed = 50 cm3/s\n[press]\nscrew_diameter = 35 mm", "running",
     "injection_speed", FACT_QUANTITY, 51.9689610, 51.9689610, NONE, "50 cm3/s", 0},
    {"[running]\ninjection_speed = 40 %\n[press]\nmax_injection_speed = 200 mm/s", "running",
     "injection_speed", FACT_QUANTITY, 80.0, 80.0, NONE, "40 %", 0},
    {"[press]\nmax_injection_speed = 100 cm3/s\nscrew_diameter = 35 mm", "press",
     "max_injection_speed", FACT_QUANTITY, 103.9379220, 103.9379220, NONE, "100 cm3/s", 0},
};

static void value_is_read(void **state)
{
    const struct good_case *c = *state;
    struct loaded l = load(c->ini);
    const struct fact *f = facts_find(&l.facts, c->section, c->key);
    if (f == NULL || l.diags.errors > 0)
        show(&l);
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(l.diags.notes, c->notes);
    assert_non_null(f);
    assert_int_equal(f->kind, c->kind);
    assert_near(f->low, c->low, 1e-7, 1e-12);
    assert_near(f->high, c->high, 1e-7, 1e-12);
    assert_near(f->relative, c->relative, 1e-12, 0.0);
    assert_string_equal(f->text, c->text);
    assert_true(f->given);
    assert_true(f->line > 0);
    arena_free(l.arena);
}

/* ---- values and lines that are refused --------------------------------------------------------
 */

struct bad_case {
    const char *ini, *code;
    long line;
    int from, to;           /* columns */
    const char *in_message; /* stands in message, expected or remedy */
};

static const struct bad_case bad_cases[] = {
    {"[press]\nmax_injection_pressure = 2200", "unit-missing", 2, 26, 29, "bar, MPa"},
    {"[press]\nmax_injection_pressure = 2200", "unit-missing", 2, 26, 29,
     "write for example `max_injection_pressure = 2200 bar`"},
    {"[press]\nmax_injection_pressure = 2200 mm", "unit-of-other-kind", 2, 31, 32,
     "unit of length"},
    {"[press]\nmax_injection_pressure = 2200 bra", "unit-not-known", 2, 31, 33, "`bra`"},
    {"[press]\nmax_injection_pressure = 200 mPa", "unit-has-two-readings", 2, 30, 32,
     "millipascal"},
    {"[press]\nmax_clamp_force = 100 tons", "unit-has-two-readings", 2, 23, 26, "short tonf"},
    {"[material]\nmelt_temperature = 480..500 K", "unit-has-two-readings", 2, 29, 29, "degC"},
    {"[press]\nmax_injection_pressure = bar", "not-a-quantity", 2, 26, 28, "`bar` is not a number"},
    {"[press]\nmax_injection_pressure = 2200 bar 5", "unit-not-known", 2, 31, 35, "`bar 5`"},
    {"[press]\nmax_injection_pressure = 2200 bar, or so", "not-a-quantity", 2, 34, 40, "or so"},
    {"[press]\nmax_injection_pressure = ~2200 bar", "not-a-quantity", 2, 26, 34, "not a number"},
    {"[press]\nmax_injection_pressure = 2,200 bar", "ambiguous-number", 2, 26, 30, "2 thousand"},
    {"[press]\nmax_injection_pressure = 12000 bar", "out-of-range", 2, 26, 34, "1 MPa to 1000 MPa"},
    {"[press]\nmax_injection_pressure = -5 bar", "out-of-range", 2, 26, 31, "1 MPa"},
    {"[press]\nmax_injection_pressure = 1e400 bar", "not-a-quantity", 2, 26, 34, "number"},
    {"[report]\nconfidence = 0.95", "unit-missing", 2, 14, 17, "%"},
    {"[report]\nconfidence = 100 %", "out-of-range", 2, 14, 18, "50 % to 99.99 %"},
    {"[report]\nresamples = 2000.5", "not-a-whole-number", 2, 13, 18, "whole"},
    {"[mold]\ncavities = 4 pcs", "unit-not-wanted", 2, 14, 16, "without a unit"},
    {"[mold]\ncavities = 0", "out-of-range", 2, 12, 12, "1 to 999"},
    {"[running]\ninjection_speed = 50 cm3/s", "speed-needs-press", 2, 19, 26, "screw_diameter"},
    {"[running]\ninjection_speed = 50 %", "speed-needs-press", 2, 19, 22, "max_injection_speed"},
    {"[press]\nmax_injection_speed = 50 %", "speed-needs-press", 2, 23, 26, "max_injection_speed"},
    {"[material]\nmelt_temperature = 230..200 degC", "range-reversed", 2, 20, 32, "lower"},
    {"[material]\nmelt_temperature = 200-230 degC", "range-with-dash", 2, 20, 31, "two dots"},
    {"[material]\nmelt_temperature = 200–230 degC", "range-with-dash", 2, 20, 31, "two dots"},
    {"[material]\nmelt_temperature = 200.. degC", "not-a-quantity", 2, 26, 29, "number"},
    {"[material]\nmelt_temperature = 200 degC..446 degF", "two-units", 2, 34, 37, "degC and degF"},
    {"[dimensions]\nlength = 31.20 mm", "limits-missing", 2, 10, 17, "+0.05 -0.05"},
    {"[dimensions]\nlength = 31.20 +0.05 mm", "limits-missing", 2, 16, 23, "second tolerance"},
    {"[dimensions]\nlength = 31.20 -0.05 mm", "limits-missing", 2, 16, 23, "second tolerance"},
    {"[dimensions]\nlength = 31.20 +0.05 -0.05", "unit-missing", 2, 10, 26, "unit"},
    {"[dimensions]\nlength = 31.20 ± 0 mm", "limits-missing", 2, 10, 21, "limits"},
    {"[dimensions]\nlength = 31.20 +0.05 +0.05 mm", "limits-missing", 2, 10, 29, "limits"},
    {"[dimensions]\nlength = 31.20 +0.05 -0.05 furlong", "unit-not-known", 2, 28, 34, "mm, in"},
    {"[dimensions]\nlength = 31.20 +0.05 -0.05 mm, later", "not-a-quantity", 2, 30, 36, "later"},
    {"[dimensions]\nlength >= mm", "not-a-quantity", 2, 11, 12, "number"},
    {"[dimensions]\nnote = 1..2 mm", "name-is-taken", 2, 1, 4, "every study"},
    {"[criteria]\nfreeze_tolerance = 0.1", "unit-missing", 2, 20, 22, "or %"},
    {"[criteria]\nfreeze_tolerance = 0.1 mm", "unit-of-other-kind", 2, 24, 25, "g, mg, kg"},
    {"[criteria]\nfreeze_tolerance = 0.1 % of the part", "unit-not-known", 2, 24, 36,
     "of the part"},
    {"[criteria]\nhold_time_margin = 1 s or 2 s", "two-units", 2, 27, 29, "absolute"},
    {"[criteria]\ncooling_time_margin = 5 %", "unit-of-other-kind", 2, 23, 25, "s, ms"},
    {"[criteria]\nhold_time_margin = -1 s", "out-of-range", 2, 20, 23, "negative"},
    {"[criteria]\npressure_use_max = 120 %", "out-of-range", 2, 20, 24, "100 %"},
    {"[criteria]\npressure_use_max = 0.9", "unit-missing", 2, 20, 22, "%"},
    {"[criteria]\nppk_min = 1.33 %", "unit-of-other-kind", 2, 11, 16, "plain number"},
    {"[criteria]\nspeed_disturbance = 5 mm/s", "unit-not-wanted", 2, 23, 26, "%"},
    {"[criteria]\nimbalance_max = 5 %", "criterion-not-used", 2, 1, 13, "no study of this version"},
    {"[criteria]\nfreze_tolerance = 5 %", "unknown-key", 2, 1, 15,
     "did you mean `freeze_tolerance`?"},
    {"[press]\npressure_basis = oil", "not-one-of", 2, 18, 20, "`hydraulic`, `melt`"},
    {"[files]\ndecimal = both", "not-one-of", 2, 11, 14, "`point`, `comma`"},
    {"[files]\nviscosity.decimal = both", "not-one-of", 2, 21, 24, "`point`, `comma`"},
    {"[files]\nviscosity.decmal = comma", "unknown-key", 2, 1, 16, "did you mean `decimal`?"},
    {"[files]\nviscose.decimal = comma", "unknown-study", 2, 1, 15, "viscosity"},
    {"[mold]\nequal_paths = 1 2", "not-sets-of-cavities", 2, 15, 17, "two sets"},
    {"[mold]\nequal_paths = 1 2 ; 2 3", "not-sets-of-cavities", 2, 15, 23, "twice"},
    {"[mold]\nequal_paths = 1 2 ; x", "not-sets-of-cavities", 2, 15, 21, "`x`"},
    {"[mold]\nequal_paths = 1 2 ; 3x", "not-sets-of-cavities", 2, 15, 22, "`3x`"},
    {"[mold]\nequal_paths = 1 0 ; 3 4", "not-sets-of-cavities", 2, 15, 23, "`1 0`"},
    {"[mold]\nequal_paths = 1 2 ; 3 9999999999", "not-sets-of-cavities", 2, 15, 32, "row"},
    {"[mold]\nequal_paths = 1 2 ; 3 5\ncavities = 4", "not-sets-of-cavities", 2, 15, 23,
     "4 cavities"},
    {"[economics]\npress_rate = 45 EUR", "not-a-rate", 2, 14, 19, "/h"},
    {"[economics]\npress_rate = EUR/h", "not-a-rate", 2, 14, 18, "amount per hour"},
    {"[economics]\npress_rate = EUR 45 net/h", "not-a-rate", 2, 14, 25, "both sides"},
    {"[economics]\npress_rate = -45 EUR/h", "not-a-rate", 2, 14, 22, "amount"},
    {"[studies]\ngauge = g.csv", "study-not-in-this-version", 2, 1, 5, "gate-freeze, viscosity"},
    {"[studies]\ngate = g.csv", "unknown-study", 2, 1, 4, "gate-freeze, viscosity"},
    {"[studies]\ngate-freze = g.csv", "unknown-study", 2, 1, 10, "did you mean `gate-freeze`?"},
    {"[columns]\nfill_time = Zeit", "no-study-in-key", 2, 1, 9, "STUDY.COLUMN"},
    {"[columns]\nviscosity.fil_time = Zeit", "unknown-column", 2, 1, 18,
     "did you mean `fill_time`?"},
    {"[columns]\ngauge.part = Teil", "study-not-in-this-version", 2, 1, 10, "no study `gauge`"},
    {"[columns]\nviscoity.fill_time = Zeit", "unknown-study", 2, 1, 18, "viscosity"},
    {"[units]\nviscosity.fill_time = bar", "unit-of-other-kind", 2, 23, 25, "unit of pressure"},
    {"[units]\nviscosity.fill_time = blink", "unit-not-known", 2, 23, 27, "s, ms, min, h"},
    {"[units]\nviscosity.transfer_pressure = tons/in2", "unit-has-two-readings", 2, 31, 38,
     "short tonf/in2"},
    {"[units]\nviscosity.condition = s", "unit-not-wanted", 2, 23, 23, "no unit"},
    /* keys and sections */
    {"[pres]\nmax_injection_pressure = 1 bar", "unknown-section", 1, 1, 6, "did you mean [press]?"},
    {"[nothing of ours]\nx = 1", "unknown-section", 1, 1, 17, "[trial], [press]"},
    {"[press\nx = 1", "section-not-closed", 1, 1, 6, "]"},
    {"[]\nx = 1", "unknown-section", 1, 1, 2, "[trial]"},
    {"[press]\nmax_injecton_pressure = 1 bar", "unknown-key", 2, 1, 21,
     "did you mean `max_injection_pressure`?"},
    {"[press]\ncavities = 4", "unknown-key", 2, 1, 8, "it belongs in [mold]"},
    {"[press]\n* = 4", "unknown-key", 2, 1, 1, "`*` is not a key of [press]"},
    {"[files]\n* = 4", "unknown-key", 2, 1, 1, "`*` is not a key of [files]"},
    {"[trial]\nmold = a\nMold = b", "duplicate-key", 3, 1, 4, "line 2"},
    {"[trial]\nmold = a\n[press]\n[trial]\nmold = b", "duplicate-key", 5, 1, 4, "line 2"},
    {"[dimensions]\nwall 1 = 1..2 mm\nwall_1 = 1..2 mm", "duplicate-key", 3, 1, 6, "line 2"},
    {"[criteria]\nppk_min = 1\nppk-min = 2", "duplicate-key", 3, 1, 7, "line 2"},
    {"[studies]\ngate-freeze = a.csv\ngate freeze = b.csv", "duplicate-key", 3, 1, 11, "line 2"},
    {"[columns]\nviscosity.fill_time = a\nviscosity.FillTime = b", "duplicate-key", 3, 1, 18,
     "line 2"},
    {"[files]\nviscosity.decimal = comma\nviscosity.decimal = point", "duplicate-key", 3, 1, 17,
     "line 2"},
    {"mold = a", "key-outside-section", 1, 1, 4, "section"},
    {"[trial]\nmold M-12", "no-equals-sign", 2, 1, 9, "="},
    {"[trial]\n= M-12", "no-key", 2, 1, 6, "key"},
    /* places count characters, not bytes */
    {"[press]\nmax_clamp_force\xC2\xA0= 1 tons", "unit-has-two-readings", 2, 21, 24, "short"},
    {"[dimensions]\nlänge = 1..2 tons", "unit-has-two-readings", 2, 14, 17, "short"},
    {"[press]\n\t max_clamp_force = 1 tons", "unit-has-two-readings", 2, 23, 26, "short"},
};

static bool mentions(const struct diag *d, const char *s)
{
    return strstr(d->message, s) != NULL ||
           (d->expected != NULL && strstr(d->expected, s) != NULL) ||
           (d->remedy != NULL && strstr(d->remedy, s) != NULL);
}

static void value_is_refused(void **state)
{
    const struct bad_case *c = *state;
    struct loaded l = load(c->ini);
    const struct diag *d = l.diags.n > 0 ? &l.diags.items[0] : NULL;
    if (d == NULL || l.diags.errors != 1 || strcmp(d->code, c->code) != 0 ||
        d->places[0].column_from != c->from || d->places[0].column_to != c->to ||
        !mentions(d, c->in_message))
        show(&l);
    assert_int_equal(l.diags.errors, 1);
    assert_int_equal(d->severity, DIAG_ERROR);
    assert_string_equal(d->code, c->code);
    assert_string_equal(d->file, "trial.ini");
    assert_int_equal(d->places[0].line, c->line);
    assert_int_equal(d->places[0].column_from, c->from);
    assert_int_equal(d->places[0].column_to, c->to);
    assert_non_null(d->places[0].source);
    assert_true(mentions(d, c->in_message));
    arena_free(l.arena);
}

/* ---- the file as a whole ----------------------------------------------------------------------
 */

static void defaults_are_filled_in(void **state)
{
    (void)state;
    struct loaded l = load("[criteria]\nppk_min = 2\n");
    assert_int_equal(l.facts.n, PL_COUNT(criteria));
    for (size_t i = 0; i < PL_COUNT(criteria); i++) {
        const struct fact *f = facts_find(&l.facts, "criteria", criteria[i].name);
        assert_non_null(f);
        assert_int_equal(f->origin, criteria[i].origin);
        assert_int_equal(f->dimension, criteria[i].dimension);
        if (strcmp(f->key, "ppk_min") == 0) {
            assert_true(f->given);
            assert_lre(f->low, 2.0, 16);
            continue;
        }
        assert_false(f->given);
        assert_int_equal(f->line, 0);
        assert_lre(f->low, criteria[i].absolute, 16);
        assert_lre(f->high, criteria[i].absolute, 16);
        assert_lre(f->relative, criteria[i].relative, 16);
        assert_string_equal(f->text, criteria[i].wording);
    }
    arena_free(l.arena);
    l = load("");
    assert_int_equal(l.facts.n, PL_COUNT(criteria));
    assert_int_equal(l.diags.n, 0);
    assert_string_equal(l.facts.file, "trial.ini");
    arena_free(l.arena);
}

static void all_problems_in_one_go(void **state)
{
    (void)state;
    struct loaded l = load("[trial]\nmold\n[press]\nmax_injection_pressure = 2200\n[what]\nx = 1\n"
                           "[mold]\ncavities = four\nwall_thickness = 2.4 mm\n");
    assert_int_equal(l.diags.errors, 4);
    assert_lre(facts_number(&l.facts, "mold", "wall_thickness", 0.0), 2.4, 15);
    arena_free(l.arena);
}

static void facts_stand_in_order_of_lines(void **state)
{
    (void)state;
    struct loaded l = load("[running]\ninjection_speed = 40 %\n[press]\nmax_injection_speed = 200 "
                           "mm/s\nscrew_diameter = 35 mm\n[dimensions]\nwall = 1..2 mm\n");
    for (size_t i = 1; i < 4; i++)
        assert_true(l.facts.items[i].line > l.facts.items[i - 1].line);
    assert_string_equal(l.facts.items[0].key, "injection_speed");
    arena_free(l.arena);
}

static void empty_values_are_noted(void **state)
{
    (void)state;
    struct loaded l = load("[trial]\nmold =\n[press]\nscrew_diameter = \n");
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(l.diags.notes, 2);
    assert_string_equal(l.diags.items[0].code, "empty-value");
    assert_null(facts_find(&l.facts, "trial", "mold"));
    assert_null(facts_find(&l.facts, "press", "screw_diameter"));
    arena_free(l.arena);
}

static void other_encodings_are_read(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct facts f;
    struct diag_list d;
    struct error e = {0};
    diag_init(&d, a);
    /* Windows-1252: B0 is the degree sign */
    static const char bytes[] = "[running]\nmelt_temperature = 230 \xB0"
                                "C\n";
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", bytes, sizeof bytes - 1, &request, &f, &d, &e), ERR_NONE);
    assert_int_equal(d.errors, 0);
    assert_lre(facts_number(&f, "running", "melt_temperature", 0.0), 230.0, 15);
    /* UTF-16LE with a byte order mark */
    char wide[2 + 2 * 40] = "\xFF\xFE";
    static const char plain[] = "[mold]\ncavities = 8\n";
    for (size_t i = 0; i < sizeof plain - 1; i++)
        wide[2 + 2 * i] = plain[i];
    diag_init(&d, a);
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", wide, 2 + 2 * (sizeof plain - 1), &request, &f, &d, &e),
        ERR_NONE);
    assert_int_equal(d.errors, 0);
    assert_lre(facts_number(&f, "mold", "cavities", 0.0), 8.0, 15);
    arena_free(a);
}

/* UTF-8 with one byte of another coding in it: said, and harmful only where a unit is. */
static void stray_bytes_are_noted(void **state)
{
    (void)state;
    struct loaded l = load("[trial]\ntitle = \xC3\xA4 \xB0 x\n[press]\ntime_step = 0,1 s\n");
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(l.diags.n, 2);
    assert_string_equal(l.diags.items[0].code, "stray-bytes");
    assert_int_equal(l.diags.items[0].places[0].line, 2);
    assert_string_equal(l.diags.items[1].code, "number-repaired");
    assert_string_equal(l.diags.items[1].message, "`0,1` read as 0.1");
    arena_free(l.arena);
    l = load("[trial]\ntitle = \xC3\xA4\n[running]\nmelt_temperature = 230 \xB0"
             "C\n");
    assert_int_equal(l.diags.errors, 1);
    assert_string_equal(l.diags.items[1].code, "unit-not-known");
    arena_free(l.arena);
}

/* Long lines and many keys: read in the time of their number, not of its square, or refused. */
static void size_is_bounded(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct text t;
    text_init(&t, a);
    text_add(&t, "[dimensions]\n");
    for (int i = 0; i < 20000; i++)
        text_addf(&t, "d%d = 1..2 mm\n", i);
    struct loaded l = load(t.s);
    assert_int_equal(l.diags.errors, 1);
    assert_string_equal(l.diags.items[0].code, "too-many-keys");
    arena_free(l.arena);
    text_clear(&t);
    text_add(&t, "[trial]\ntitle = ");
    for (int i = 0; i < 5000; i++)
        text_add(&t, "long ");
    l = load(t.s);
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(strlen(facts_text(&l.facts, "trial", "title")), 24999);
    arena_free(l.arena);
    arena_free(a);
}

/* ---- the table of keys ------------------------------------------------------------------------
 */

/* What the blank trial.ini shows must itself be readable, every key of it, together. */
static void examples_are_accepted(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct text t;
    text_init(&t, a);
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    const char *section = "";
    for (size_t i = 0; i < n; i++) {
        if (strcmp(section, keys[i].section) != 0)
            text_addf(&t, "[%s]\n", keys[i].section);
        section = keys[i].section;
        const char *key = keys[i].key;
        if (strcmp(key, "*") == 0)
            key = strcmp(section, "dimensions") == 0 ? "length"
                  : strcmp(section, "criteria") == 0 ? "hold_time_margin"
                  : strcmp(section, "columns") == 0  ? "viscosity.fill_time"
                  : strcmp(section, "units") == 0    ? "viscosity.transfer_pressure"
                  : strcmp(section, "studies") == 0  ? "gate-freeze"
                                                     : "viscosity.decimal";
        text_addf(&t, "%s = %s\n", key, keys[i].example);
    }
    struct loaded l = load(t.s);
    if (l.diags.n > 0)
        show(&l);
    assert_int_equal(l.diags.n, 0);
    size_t given = 0;
    for (size_t i = 0; i < l.facts.n; i++)
        given += l.facts.items[i].given;
    assert_int_equal(given, n);
    arena_free(l.arena);
    arena_free(a);
}

/* `explain` knows every code of this file's cases, and they are in order. */
static void codes_are_explained(void **state)
{
    (void)state;
#define ROW(code, meaning, remedy) {code, meaning, remedy},
    static const struct code_text codes[] = {READ_INI_CODES(ROW)};
#undef ROW
    for (size_t i = 0; i < PL_COUNT(codes); i++) {
        assert_int_equal(codes[i].meaning[strlen(codes[i].meaning) - 1], '.');
        assert_int_equal(codes[i].remedy[strlen(codes[i].remedy) - 1], '.');
        assert_true(i == 0 || strcmp(codes[i - 1].code, codes[i].code) < 0);
    }
    for (size_t i = 0; i < PL_COUNT(bad_cases); i++) {
        bool known = false;
        for (size_t j = 0; j < PL_COUNT(codes); j++)
            known |= strcmp(codes[j].code, bad_cases[i].code) == 0;
        assert_true(known);
    }
}

static void table_of_keys_is_whole(void **state)
{
    (void)state;
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    for (size_t i = 0; i < n; i++) {
        char first = keys[i].purpose[0];
        assert_true((first >= 'A' && first <= 'Z') || first == '`');
        assert_int_equal(keys[i].purpose[strlen(keys[i].purpose) - 1], '.');
        assert_true(keys[i].low <= keys[i].high);
        for (size_t j = i + 1; j < n; j++) {
            bool same = strcmp(keys[i].section, keys[j].section) == 0;
            assert_false(same && strcmp(keys[i].key, keys[j].key) == 0);
            /* a section stands in one piece */
            assert_true(!same || strcmp(keys[j - 1].section, keys[j].section) == 0);
        }
    }
}

/* docs/format.md names every section, key and example of the table, and every unit offered. */
static void manual_names_every_key(void **state)
{
    (void)state;
    static char page[200000];
    FILE *f = fopen(SOURCE_DIR "/docs/format.md", "rb");
    assert_non_null(f);
    size_t length = fread(page, 1, sizeof page - 1, f);
    assert_true(length > 0 && length < sizeof page - 1);
    fclose(f);
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    struct arena *a = arena_new();
    for (size_t i = 0; i < n; i++) {
        assert_non_null(strstr(page, arena_printf(a, "`[%s]`", keys[i].section)));
        if (strcmp(keys[i].key, "*") == 0)
            continue;
        const char *row =
            arena_printf(a, "| `%s` | `%s` | %s |", keys[i].key, keys[i].example, keys[i].purpose);
        if (strstr(page, row) == NULL)
            print_error("format.md has no row %s\n", row);
        assert_non_null(strstr(page, row));
    }
    for (int d = 0; d < DIM_N; d++)
        for (const char *u = unit_accepted((enum dimension)d); *u != '\0';) {
            size_t m = strcspn(u, ",");
            assert_non_null(strstr(page, arena_printf(a, "`%.*s`", (int)m, u)));
            u += m + strspn(u + m, ", ");
        }
    arena_free(a);
}

static void names_are_compared_without_case_and_marks(void **state)
{
    (void)state;
    assert_true(ini_same_name("gate-freeze", "Gate_Freeze"));
    assert_true(ini_same_name("gate-freeze", "gatefreeze "));
    assert_false(ini_same_name("gate-freeze", "gate-freez"));
    assert_false(ini_same_name("gate-freeze", ""));
    assert_true(ini_same_name("", " _-"));
    assert_true(ini_same_name_n("viscosity.fill_time", 9, "viscosity"));
    assert_true(ini_is_study_word("Cavity Balance"));
    assert_false(ini_is_study_word("balance"));
}

static void lists_are_split(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    size_t n;
    const char **items = ini_split_list(a, " a.csv ; \"b c.csv\";; d.csv;", &n);
    assert_int_equal(n, 3);
    assert_string_equal(items[0], "a.csv");
    assert_string_equal(items[1], "b c.csv");
    assert_string_equal(items[2], "d.csv");
    ini_split_list(a, " ; ", &n);
    assert_int_equal(n, 0);
    arena_free(a);
}

#define FIXED 13

int main(void)
{
    static struct CMUnitTest tests[PL_COUNT(good_cases) + PL_COUNT(bad_cases) + FIXED];
    static char names[PL_COUNT(good_cases) + PL_COUNT(bad_cases)][96];
    const struct CMUnitTest fixed[FIXED] = {
        cmocka_unit_test(defaults_are_filled_in),
        cmocka_unit_test(all_problems_in_one_go),
        cmocka_unit_test(facts_stand_in_order_of_lines),
        cmocka_unit_test(empty_values_are_noted),
        cmocka_unit_test(other_encodings_are_read),
        cmocka_unit_test(stray_bytes_are_noted),
        cmocka_unit_test(codes_are_explained),
        cmocka_unit_test(size_is_bounded),
        cmocka_unit_test(examples_are_accepted),
        cmocka_unit_test(table_of_keys_is_whole),
        cmocka_unit_test(manual_names_every_key),
        cmocka_unit_test(names_are_compared_without_case_and_marks),
        cmocka_unit_test(lists_are_split),
    };
    size_t n = 0;
    for (size_t i = 0; i < PL_COUNT(good_cases); i++, n++) {
        snprintf(names[n], sizeof names[n], "read_%zu_%s_%s", i, good_cases[i].section,
                 good_cases[i].key);
        tests[n] = (struct CMUnitTest){.name = names[n],
                                       .test_func = value_is_read,
                                       .initial_state = (void *)(uintptr_t)&good_cases[i]};
    }
    for (size_t i = 0; i < PL_COUNT(bad_cases); i++, n++) {
        snprintf(names[n], sizeof names[n], "refused_%zu_%s", i, bad_cases[i].code);
        tests[n] = (struct CMUnitTest){.name = names[n],
                                       .test_func = value_is_refused,
                                       .initial_state = (void *)(uintptr_t)&bad_cases[i]};
    }
    memcpy(tests + n, fixed, sizeof fixed);
    return _cmocka_run_group_tests("ini", tests, PL_COUNT(tests), NULL, NULL);
}
