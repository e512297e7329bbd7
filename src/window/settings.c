/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The settings a study may bound, one line each, and the criteria and flags of the window itself.
 */
#include "window_internal.h"

/* Alphabetical. A time or a clamp force that is rounded down would eat into its own margin. */
static const struct setting_spec specs[] = {
    {"clamp_force", "Clamp force", "clamp force", DIM_FORCE, AIM_LOWER_PLUS_MARGIN, "clamp",
     "clamp_margin", "clamp_step", NAN, "clamp_repeatability", ROUND_UP},
    {"closed_time", "Closed time", "closed time", DIM_TIME, AIM_NONE, "cooling", NULL, "time_step",
     0.1, "time_repeatability", ROUND_UP},
    {"cooling_time", "Cooling time", "cooling time", DIM_TIME, AIM_LOWER_PLUS_MARGIN, "cooling",
     "cooling_time_margin", "time_step", 0.1, "time_repeatability", ROUND_UP},
    {"fill_time", "Fill time", "fill time", DIM_TIME, AIM_GEOMETRIC_MEAN, "viscosity", NULL, NULL,
     NAN, NULL, ROUND_NEAREST},
    {"hold_pressure", "Hold pressure", "hold pressure", DIM_PRESSURE, AIM_CENTRE, "hold-window",
     NULL, "pressure_step", NAN, "pressure_repeatability", ROUND_NEAREST},
    {"hold_time", "Hold time", "hold time", DIM_TIME, AIM_LOWER_PLUS_MARGIN, "gate-freeze",
     "hold_time_margin", "time_step", 0.1, "time_repeatability", ROUND_UP},
    {"injection_speed", "Injection speed", "injection speed", DIM_SPEED, AIM_GEOMETRIC_MEAN,
     "viscosity", NULL, "speed_step", NAN, "speed_repeatability", ROUND_NEAREST},
    {"melt_temperature", "Melt temperature", "melt temperature", DIM_TEMPERATURE, AIM_CENTRE,
     "hold-window", NULL, NULL, NAN, NULL, ROUND_NEAREST},
    {"mold_temperature", "Mold temperature", "mold temperature", DIM_TEMPERATURE, AIM_CENTRE,
     "hold-window", NULL, NULL, NAN, NULL, ROUND_NEAREST},
    {"transfer_pressure", "Transfer pressure", "transfer pressure", DIM_PRESSURE, AIM_NONE,
     "viscosity", NULL, "pressure_step", NAN, NULL, ROUND_NEAREST},
};

const struct setting_spec *window_setting_specs(size_t *n)
{
    *n = PL_COUNT(specs);
    return specs;
}

/* A margin stands here from the day a study bounds its setting. */
static const struct criterion_spec criteria[] = {
    {"hold_time_margin", DIM_TIME, 0.5, 0.05, 'C', "0.5 s or 5 %, the larger",
     "What the aim for hold time lies above its bound, so that a gate that freezes a little later "
     "than in the trial is still frozen. It is part of the aim and never of the bound."},
};

const struct criterion_spec *window_criteria(size_t *n)
{
    *n = PL_COUNT(criteria);
    return criteria;
}

static const struct flag_spec flags[] = {
    {"one-temperature-only", FLAG_DOUBT,
     "The limits were found at one melt temperature and one mold temperature. A hotter or colder "
     "melt moves them: a gate freezes later in a hot mold, and a cold melt needs more pressure.",
     "Keep both temperatures at the values of the trial, measured in the melt and on the mold. To "
     "run at others, repeat the studies there first."},
    {"outside-material-range", FLAG_DOUBT,
     "A study was run at a temperature outside the range the material's supplier gives. Its limits "
     "hold for that temperature, and the material may have been damaged or not fully molten.",
     "Check the temperature with a probe. If it is right, bring it into the supplier's range and "
     "repeat the study there."},
    {"running-outside", FLAG_DOUBT,
     "The value in use now, as trial.ini gives it under [running], lies outside the limits that "
     "the "
     "studies found.",
     "Change the setting at the press to the aim, and find out what the parts made until now are "
     "like."},
};

const struct flag_spec *window_flags(size_t *n)
{
    *n = PL_COUNT(flags);
    return flags;
}
