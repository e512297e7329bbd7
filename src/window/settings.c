/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The settings a study may bound, one line each, and the criteria and flags of the window itself.
 */
#include "window_internal.h"

/* Alphabetical. A time or a clamp force that is rounded down would eat into its own margin. */
static const struct setting_spec specs[] = {
    {"clamp_force", "Clamp force", "clamp force", DIM_FORCE, AIM_LOWER_PLUS_MARGIN, "clamp",
     "clamp_margin", "clamp_step", NAN, "clamp_repeatability", ROUND_UP, ORDER_FOLLOWS},
    {"closed_time", "Closed time", "closed time", DIM_TIME, AIM_NONE, "cooling", NULL, "time_step",
     0.1, "time_repeatability", ROUND_UP, ORDER_FOLLOWS},
    {"cooling_time", "Cooling time", "cooling time", DIM_TIME, AIM_LOWER_PLUS_MARGIN, "cooling",
     "cooling_time_margin", "time_step", 0.1, "time_repeatability", ROUND_UP, ORDER_LAST},
    {"fill_time", "Fill time", "fill time", DIM_TIME, AIM_GEOMETRIC_MEAN, "viscosity", NULL, NULL,
     NAN, NULL, ROUND_NEAREST, ORDER_FOLLOWS},
    {"hold_pressure", "Hold pressure", "hold pressure", DIM_PRESSURE, AIM_CENTRE, "hold-window",
     NULL, "pressure_step", NAN, "pressure_repeatability", ROUND_NEAREST, ORDER_FIRST},
    {"hold_time", "Hold time", "hold time", DIM_TIME, AIM_LOWER_PLUS_MARGIN, "gate-freeze",
     "hold_time_margin", "time_step", 0.1, "time_repeatability", ROUND_UP, ORDER_FOLLOWS},
    {"injection_speed", "Injection speed", "injection speed", DIM_SPEED, AIM_GEOMETRIC_MEAN,
     "viscosity", NULL, "speed_step", NAN, "speed_repeatability", ROUND_NEAREST, ORDER_FIRST},
    {"melt_temperature", "Melt temperature", "melt temperature", DIM_TEMPERATURE, AIM_CENTRE,
     "hold-window", NULL, NULL, NAN, NULL, ROUND_NEAREST, ORDER_FIRST},
    {"mold_temperature", "Mold temperature", "mold temperature", DIM_TEMPERATURE, AIM_CENTRE,
     "hold-window", NULL, NULL, NAN, NULL, ROUND_NEAREST, ORDER_FIRST},
    {"transfer_pressure", "Transfer pressure", "transfer pressure", DIM_PRESSURE, AIM_NONE,
     "viscosity", NULL, "pressure_step", NAN, NULL, ROUND_NEAREST, ORDER_FOLLOWS},
};

const struct setting_spec *window_setting_specs(size_t *n)
{
    *n = PL_COUNT(specs);
    return specs;
}

/* A margin stands here from the day a study bounds its setting. */
static const struct criterion_spec criteria[] = {
    {"cooling_time_margin", DIM_TIME, 0.5, NAN, 'C', "0.5 s",
     "What the aim for cooling time lies above its bound, so that a part from a slightly warmer "
     "mold or melt is still stiff when it is ejected. It is part of the aim and never of the "
     "bound."},
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
    {"narrow-window", FLAG_DOUBT,
     "The two limits on a setting lie less than 10 % apart, or less than six times what the press "
     "scatters. A small change of the melt, of the press or of a reading carries the process "
     "across one of them. Both figures are our convention.",
     "Watch this setting more often than the others. To make room, move the limit that is easier "
     "to move: the sentence on the setting names both, and the studies name the shots that would "
     "make their intervals narrower."},
    {"one-temperature-only", FLAG_DOUBT,
     "The limits were found at one melt temperature and one mold temperature. A hotter or colder "
     "melt moves them: a gate freezes later in a hot mold, and a cold melt needs more pressure.",
     "Keep both temperatures at the values of the trial, measured in the melt and on the mold. To "
     "run at others, repeat the studies there first."},
    {"other-hold-pressure", FLAG_DOUBT,
     "A study was run at a hold pressure that differs by more than 5 % from the one that is aimed "
     "at or in use. Hold pressure changes how long a gate takes to freeze and how a part shrinks.",
     "Repeat the shots on both sides of the study's limit at the hold pressure of the window, and "
     "write the pressure into a column hold_pressure of that study."},
    {"other-injection-speed", FLAG_DOUBT,
     "A study was run at an injection speed, or in a fill time, that differs by more than 5 % from "
     "the "
     "aim. Speed "
     "changes how hot and how full the part is when hold begins, and so when the gate freezes and "
     "when the part is stiff.",
     "Repeat the shots on both sides of the study's limit at the injection speed of the aim, and "
     "write the speed into a column injection_speed of that study."},
    {"other-temperature", FLAG_DOUBT,
     "Two studies, or a study and the settings in use, differ by more than 3 K in melt or mold "
     "temperature. Their limits do not belong to one process.",
     "Find out which temperature production will run at, and repeat the other study there."},
    {"outside-material-range", FLAG_DOUBT,
     "A study was run at a temperature outside the range the material's supplier gives. Its limits "
     "hold for that temperature, and the material may have been damaged or not fully molten.",
     "Check the temperature with a probe. If it is right, bring it into the supplier's range and "
     "repeat the study there."},
    {"recovery-not-given", FLAG_DOUBT,
     "How long the screw takes to recover is not known. A cooling time shorter than recovery opens "
     "the mold before the next shot is ready, or lets the machine wait.",
     "Read the recovery time at the press and write it into trial.ini, [running] recovery_time, or "
     "into the column of the cooling study."},
    {"running-outside", FLAG_DOUBT,
     "The value in use now, as trial.ini gives it under [running], lies outside the limits that "
     "the studies found.",
     "Change the setting at the press to the aim, and find out what the parts made until now are "
     "like."},
    {"worst-corner-untested", FLAG_DOUBT,
     "The window spans temperatures or hold pressures, and a limit was found at another point than "
     "the corner where it is hardest to keep: a gate freezes and a part stiffens latest at the "
     "hottest corner, filling takes most pressure at the coldest, and the highest hold pressure "
     "needs most clamp force.",
     "Run the shots that are named for this corner. Until then the setting is not shown."},
};

const struct flag_spec *window_flags(size_t *n)
{
    *n = PL_COUNT(flags);
    return flags;
}
