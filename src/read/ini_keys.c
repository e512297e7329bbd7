/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every section and key that trial.ini may have. The blank trial.ini, the manual and the messages
 * are made from this table. Ranges are wide: they catch a wrong unit or a slipped decimal mark, not
 * an unusual mold.
 */
#include "ini.h"
#include "limits.h"

#define TEXT_KEY(section, key, example, purpose)                                                   \
    {                                                                                              \
        section, key, FACT_TEXT, DIM_TEXT, 0.0, 0.0, example, purpose                              \
    }
#define QUANTITY(section, key, dimension, low, high, example, purpose)                             \
    {                                                                                              \
        section, key, FACT_QUANTITY, dimension, low, high, example, purpose                        \
    }
#define RANGE(section, key, dimension, low, high, example, purpose)                                \
    {                                                                                              \
        section, key, FACT_RANGE, dimension, low, high, example, purpose                           \
    }

static const struct ini_key keys[] = {
    TEXT_KEY("trial", "title", "First trial of the new mold",
             "What this trial is called at the head of the report."),
    TEXT_KEY("trial", "mold", "M-1042", "Name or number of the mold."),
    TEXT_KEY("trial", "part", "Housing, lower half", "Name or number of the part."),
    TEXT_KEY("trial", "press", "Press 7", "The press the trial was run on."),
    TEXT_KEY("trial", "material", "PP, natural", "The material, with its grade."),
    TEXT_KEY("trial", "lot", "2209-3", "The material's lot."),
    TEXT_KEY("trial", "date", "2026-11-24", "When the trial was run."),
    TEXT_KEY("trial", "author", "Name of the person", "Who ran the trial."),
    TEXT_KEY("trial", "reason", "New mold",
             "Why it was run: new mold, new lot, repair, other press."),
    TEXT_KEY("trial", "protocol", "QP-17, revision 3",
             "The approved protocol that the criteria come from."),

    QUANTITY("press", "max_injection_pressure", DIM_PRESSURE, 1.0, 1000.0, "2200 bar",
             "Highest injection pressure the press can make."),
    TEXT_KEY(
        "press", "pressure_basis", "melt",
        "Whether the pressures in this section, and in columns that do not say, are `hydraulic` "
        "or `melt` pressure."),
    QUANTITY("press", "pressure_limit", DIM_PRESSURE, 0.1, 1000.0, "1800 bar",
             "Pressure limit that was set during filling."),
    QUANTITY("press", "intensification_ratio", DIM_COUNT, 1.0, 40.0, "10.5",
             "Melt pressure divided by hydraulic pressure: the ratio of the piston's area to the "
             "screw's."),
    QUANTITY("press", "screw_diameter", DIM_LENGTH, 5.0, 500.0, "35 mm",
             "Diameter of the screw; needed where speeds are given as a volume per second."),
    QUANTITY("press", "max_injection_speed", DIM_SPEED, 1.0, 5000.0, "200 mm/s",
             "Highest injection speed; needed where speeds are given in %."),
    QUANTITY("press", "speed_repeatability", DIM_SPEED, 0.0, 500.0, "0.4 mm/s",
             "Standard deviation of the injection speed from shot to shot, as measured."),
    QUANTITY("press", "time_repeatability", DIM_TIME, 0.0, 60.0, "0.02 s",
             "Standard deviation of hold and cooling time from shot to shot, as measured."),
    QUANTITY("press", "pressure_repeatability", DIM_PRESSURE, 0.0, 100.0, "3 bar",
             "Standard deviation of the hold pressure from shot to shot, as measured."),
    QUANTITY("press", "clamp_repeatability", DIM_FORCE, 0.0, 10000.0, "8 kN",
             "Standard deviation of the clamp force from shot to shot, as measured."),
    QUANTITY("press", "max_clamp_force", DIM_FORCE, 1.0, 200000.0, "1000 kN",
             "Rated clamp force of the press."),
    QUANTITY("press", "max_shot_volume", DIM_VOLUME, 10.0, 1e9, "154 cm3",
             "Largest shot volume of the barrel."),
    QUANTITY("press", "melt_inventory", DIM_VOLUME, 10.0, 1e10, "300 cm3",
             "Volume of melt that the barrel holds, screw channel included."),
    QUANTITY("press", "time_step", DIM_TIME, 1e-4, 60.0, "0.1 s",
             "Smallest step in which times can be set."),
    QUANTITY("press", "speed_step", DIM_SPEED, 1e-4, 500.0, "1 mm/s",
             "Smallest step in which the injection speed can be set."),
    QUANTITY("press", "pressure_step", DIM_PRESSURE, 1e-5, 100.0, "1 bar",
             "Smallest step in which the hold pressure can be set."),
    QUANTITY("press", "clamp_step", DIM_FORCE, 1e-4, 10000.0, "10 kN",
             "Smallest step in which the clamp force can be set."),

    QUANTITY("mold", "cavities", DIM_COUNT, 1.0, LIMIT_CAVITIES, "4", "Number of cavities."),
    QUANTITY("mold", "gates_per_cavity", DIM_COUNT, 1.0, 100.0, "1",
             "Number of gates of one cavity."),
    QUANTITY("mold", "gate_diameter", DIM_LENGTH, 0.02, 100.0, "1.2 mm",
             "Diameter of a round gate at its narrowest."),
    QUANTITY("mold", "gate_width", DIM_LENGTH, 0.02, 2000.0, "4.0 mm",
             "Width of a flat gate; give its thickness too."),
    QUANTITY("mold", "gate_thickness", DIM_LENGTH, 0.02, 100.0, "0.8 mm",
             "Thickness of a flat gate at its narrowest."),
    QUANTITY("mold", "wall_thickness", DIM_LENGTH, 0.05, 200.0, "2.4 mm",
             "Thickest wall of the part, full thickness."),
    QUANTITY("mold", "projected_area", DIM_AREA, 1.0, 1e8, "182 cm2",
             "Projected area of all cavities and the runner in the opening direction."),
    QUANTITY("mold", "max_clamp_force", DIM_FORCE, 1.0, 200000.0, "900 kN",
             "Highest clamp force the mold is rated for. Never exceed it to complete a study."),
    TEXT_KEY("mold", "equal_paths", "1 3 ; 2 4",
             "Sets of cavities whose melt takes the same turns in the runner, one set of numbers "
             "after another with `;` between them."),
    QUANTITY("mold", "part_volume", DIM_VOLUME, 0.1, 1e9, "18.4 cm3", "Volume of one part."),
    QUANTITY("mold", "part_weight", DIM_MASS, 1e-4, 1e6, "16.9 g",
             "Weight of one full part from one cavity."),
    QUANTITY("mold", "shot_volume", DIM_VOLUME, 0.1, 1e9, "81 cm3",
             "Volume of a whole shot: all cavities and the runner."),
    TEXT_KEY("mold", "gate", "open",
             "`open` where the gate is not meant to freeze (valve gate, hot runner, thick gate)."),

    RANGE("material", "melt_temperature", DIM_TEMPERATURE, 20.0, 500.0, "200..230 degC",
          "Range of melt temperature that the supplier gives."),
    RANGE("material", "mold_temperature", DIM_TEMPERATURE, -50.0, 350.0, "30..50 degC",
          "Range of mold temperature that the supplier gives."),
    QUANTITY("material", "ejection_temperature", DIM_TEMPERATURE, -50.0, 400.0, "95 degC",
             "Highest part temperature at which the part may be ejected."),
    QUANTITY("material", "thermal_diffusivity", DIM_DIFFUSIVITY, 0.005, 5.0, "0.087 mm2/s",
             "Thermal diffusivity of the melt as it cools."),
    QUANTITY("material", "max_shear_rate", DIM_RATE, 1.0, 1e8, "60000 1/s",
             "Highest shear rate in the gate that the supplier allows."),
    QUANTITY("material", "melt_density", DIM_DENSITY, 0.1, 10.0, "0.74 g/cm3",
             "Density of the melt in the barrel."),
    QUANTITY("material", "max_residence_time", DIM_TIME, 1.0, 86400.0, "8 min",
             "Longest time the melt may stay in the barrel. Never exceed it to complete a study."),

    {"dimensions", "*", FACT_LIMITS, DIM_LENGTH, -1e9, 1e9, "31.20 +0.05 -0.05 mm",
     "Limits of a measured characteristic; the key is its column's name."},

    {"criteria", "*", FACT_QUANTITY, DIM_TEXT, 0.0, 1e9, "0.5 s or 5 %",
     "A criterion of your own in place of the default; an absolute part, a part in %, or both."},

    TEXT_KEY(
        "defects", "low", "dull spot, not filled",
        "Words of this plant for defects that come from too little pressure, comma between them."),
    TEXT_KEY("defects", "high", "skirt, wedged",
             "Words of this plant for defects that come from too much pressure."),
    TEXT_KEY("defects", "gas", "brown corner", "Words of this plant for trapped gas."),
    TEXT_KEY("defects", "ejection", "pusher print", "Words of this plant for ejection defects."),

    QUANTITY("economics", "parts_per_year", DIM_COUNT, 1.0, 1e12, "2500000",
             "Parts made in a year; prices a tenth of a second of cycle time."),
    QUANTITY("economics", "press_rate", DIM_COUNT, 0.0, 1e9, "45 EUR/h",
             "What an hour of the press costs; any word for the currency."),
    TEXT_KEY("economics", "currency", "EUR", "The currency, where the rate is given without one."),

    TEXT_KEY("columns", "*", "Einspritzzeit",
             "The name that a column has in your files; the key is STUDY.COLUMN."),
    TEXT_KEY("units", "*", "psi",
             "The unit of a column whose header has none; the key is STUDY.COLUMN."),
    TEXT_KEY("studies", "*", "saturday/freeze mold 12.csv",
             "The files of a study where they are not called STUDY.csv; several with `;` between "
             "them."),
    TEXT_KEY("files", "decimal", "comma", "Decimal mark of the files: `point` or `comma`."),
    TEXT_KEY("files", "separator", "semicolon",
             "What stands between the cells: `comma`, `semicolon`, `tab` or `bar`."),
    TEXT_KEY("files", "encoding", "Windows-1252",
             "How the files are coded: `UTF-8`, `UTF-16LE`, `UTF-16BE` or `Windows-1252`."),
    TEXT_KEY("files", "*", "comma",
             "The same for the files of one study; the key is STUDY.decimal, STUDY.separator or "
             "STUDY.encoding."),

    QUANTITY("running", "cycle_time", DIM_TIME, 0.1, 86400.0, "28.5 s", "Cycle time in use now."),
    QUANTITY("running", "recovery_time", DIM_TIME, 0.0, 3600.0, "6.2 s",
             "Time the screw takes to recover, in use now."),
    QUANTITY("running", "fill_time", DIM_TIME, 1e-3, 600.0, "0.85 s", "Fill time in use now."),
    QUANTITY("running", "injection_speed", DIM_SPEED, 0.01, 5000.0, "80 mm/s",
             "Injection speed in use now."),
    QUANTITY("running", "hold_pressure", DIM_PRESSURE, 0.0, 1000.0, "480 bar",
             "Hold pressure in use now."),
    QUANTITY("running", "hold_time", DIM_TIME, 0.0, 3600.0, "6 s", "Hold time in use now."),
    QUANTITY("running", "cooling_time", DIM_TIME, 0.0, 36000.0, "14 s", "Cooling time in use now."),
    QUANTITY("running", "clamp_force", DIM_FORCE, 0.0, 200000.0, "800 kN",
             "Clamp force in use now."),
    QUANTITY("running", "melt_temperature", DIM_TEMPERATURE, 20.0, 500.0, "220 degC",
             "Melt temperature in use now, as measured."),
    QUANTITY("running", "mold_temperature", DIM_TEMPERATURE, -50.0, 350.0, "40 degC",
             "Mold temperature in use now, as measured."),
    QUANTITY("running", "transfer_position", DIM_LENGTH, 0.0, 5000.0, "12 mm",
             "Screw position at transfer to hold, in use now."),

    TEXT_KEY("approved", "record", "mold-a/report/record.json",
             "The record that a short trial is held against. This key makes a trial a short one."),
    TEXT_KEY("approved", "record_sha256",
             "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
             "SHA-256 of that record."),
    TEXT_KEY("approved", "record_lot", "2209-3", "The material's lot of that record."),
    {"approved", "*", FACT_QUANTITY, DIM_TEXT, -1e9, 1e9, "8.5 s",
     "What that record says of a setting or a response; the key is NAME.PART."},

    TEXT_KEY("report", "units", "as-entered",
             "Units of terminal and report: `as-entered`, `metric` or `us`."),
    QUANTITY("report", "confidence", DIM_RATIO, 0.5, 0.9999, "95 %",
             "Confidence of the intervals."),
    QUANTITY("report", "resamples", DIM_COUNT, 100.0, 1e6, "2000",
             "How many samples are drawn where an interval comes from resampling."),
    QUANTITY("report", "seed", DIM_COUNT, 0.0, 4294967295.0, "1",
             "Where the random numbers of the resampling start."),
};

const struct ini_key *ini_keys(size_t *n)
{
    *n = PL_COUNT(keys);
    return keys;
}

/* Keys of text that take one of a few words, and numbers that must be whole. */
static const struct ini_rule rules[] = {
    {"press", "pressure_basis", "hydraulic|melt", false},
    {"mold", "gate", "open", false},
    {"report", "units", "as-entered|metric|us", false},
    {"approved", "verdict", "none|met|not shown|not met", false},
    {"approved", "low_kind", "limit|convention", false},
    {"approved", "high_kind", "limit|convention", false},
    {"files", "decimal", "point=.|comma=,", false},
    {"files", "separator", "comma=,|semicolon=;|tab|bar", false},
    {"files", "encoding", "UTF-8=UTF8|UTF-16LE|UTF-16BE|Windows-1252=CP1252", false},
    {"mold", "cavities", NULL, true},
    {"mold", "gates_per_cavity", NULL, true},
    {"economics", "parts_per_year", NULL, true},
    {"report", "resamples", NULL, true},
    {"report", "seed", NULL, true},
};

const struct ini_rule *ini_rule_find(const char *section, const char *key)
{
    const char *dot = strcmp(section, "approved") == 0 ? strchr(key, '.') : NULL;
    if (dot != NULL) /* NAME.PART */
        key = dot + 1;
    for (size_t i = 0; i < PL_COUNT(rules); i++)
        if (strcmp(rules[i].section, section) == 0 && strcmp(rules[i].key, key) == 0)
            return &rules[i];
    return NULL;
}

/* Studies and criteria that a trial may have but not every version reads: so that a file or a key
 * meant for one of them is named for what it is, and not called unknown. */
static const char *const study_words[] = {
    "cavity-balance", "clamp", "gate-freeze", "gauge",     "hold-window",
    "pressure-drop",  "press", "runs",        "viscosity",
};
static const char *const criterion_words[] = {
    "freeze_tolerance",
    "hold_time_margin",
    "cooling_time_margin",
    "speed_disturbance",
    "viscosity_tolerance",
    "pressure_use_max",
    "pressure_use_aim",
    "imbalance_max",
    "imbalance_aim",
    "clamp_margin",
    "hold_window_min_temperature_width",
    "ppk_min",
    "reliability",
    "lot_viscosity_shift",
    "session_sd",
};

static bool in_words(const char *const *words, size_t n, const char *s)
{
    for (size_t i = 0; i < n; i++)
        if (ini_same_name(words[i], s))
            return true;
    return false;
}

bool ini_is_study_word(const char *s)
{
    return in_words(study_words, PL_COUNT(study_words), s);
}

bool ini_is_criterion_word(const char *s)
{
    return in_words(criterion_words, PL_COUNT(criterion_words), s);
}
