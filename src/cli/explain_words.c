/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the report says beside flags, keys and columns. */
#include "explain_words.h"

#include "plateau/base.h"

static const struct explain_word words[] = {
    {"available_pressure", "quantity of pressure-drop and viscosity",
     "The smaller of what the press can give and the pressure limit that is set, as melt pressure.",
     NULL},
    {"cavity_equality_p", "quantity of cavity-balance and gate-freeze",
     "Chance of differences between cavities as large as these if all were alike (F test). Below 5 "
     "% they are taken to differ.",
     NULL},
    {"cavity_range", "quantity of cavity-balance",
     "Heaviest minus lightest mean weight of the cavities.", NULL},
    {"clamp_force", "setting of the window",
     "The force that keeps the mold shut. The aim is the lower limit and a margin.", NULL},
    {"closed_time", "setting of the window",
     "From the start of injection to the opening of the mold: fill, hold and cooling together. The "
     "part cools all that time, so this is what the cooling study limits. It is watched, not set: "
     "the press is set by hold time and cooling time.",
     NULL},
    {"closed_time_min", "quantity of cooling",
     "The least closed time: the latest of what every criterion asks for.", NULL},
    {"condition_sd", "quantity of several studies",
     "Scatter from one set-up of a setting to the next, in excess of the scatter from shot to shot "
     "(standard deviation).",
     NULL},
    {"cooling_time", "setting of the window",
     "What the cooling timer has to give: the closed time less fill and hold, and not less than "
     "the screw takes to recover and 0.5 s. The limit holds for the fill and the hold that are "
     "named with it; a shorter hold needs longer cooling to make up for it.",
     NULL},
    {"cooling_time_min", "quantity of cooling",
     "The least cooling time at the hold time as run, where the hold time is not given.", NULL},
    {"cushion_step", "quantity of gate-freeze", "Step of the readings of the cushion.", NULL},
    {"ejection_defects", "criterion of cooling",
     "Whether parts come out of the mold without a defect from the bound on. Next to a defect only "
     "a run of good shots shows that it is gone: 59 in a row for defect_free_share = 95 % at a "
     "confidence of 95 %.",
     "Run the shots that the report names at the bound, and enter one row each: the times, and ok "
     "under defect where the parts are good."},
    {"ejection_temperature", "criterion of cooling",
     "Whether the hottest place of the part is below the ejection temperature of the material when "
     "the mold opens.",
     "Give it in trial.ini, [material] ejection_temperature, and measure the part at once after "
     "ejection."},
    {"ejection_temperature_reached", "quantity of cooling",
     "Closed time at which the part passes the ejection temperature.", NULL},
    {"fastest_fill_time", "quantity of viscosity",
     "Shortest fill time allowed: the greatest of its lower limits.", NULL},
    {"fill_pressure", "quantity of pressure-drop",
     "Pressure that filling to the last stage takes, as melt pressure.", NULL},
    {"fill_time", "setting of the window",
     "From the start of injection to transfer. It follows from the injection speed: what the table "
     "shows is to be expected, not set.",
     NULL},
    {"fill_time_step", "quantity of viscosity", "Step of the readings of fill time.", NULL},
    {"freeze_time", "quantity of gate-freeze",
     "Hold time from which on the part weight stays within the tolerance of its plateau.", NULL},
    {"fullness", "quantity of cavity-balance",
     "How full the fullest cavity was, as a share of a full part.", NULL},
    {"hold_pressure", "setting of the window",
     "The pressure on the melt after transfer. The aim is the centre between both limits.", NULL},
    {"hold_time", "setting of the window",
     "How long hold pressure acts. The aim is the time from which on the part gains no more "
     "weight, and a margin.",
     NULL},
    {"imbalance", "quantity of cavity-balance",
     "How much less the lightest cavity weighs than the heaviest, as a share of the heaviest, in "
     "short shots.",
     NULL},
    {"imbalance_trend", "quantity of cavity-balance", "Change of the imbalance for 10 % more fill.",
     NULL},
    {"injection_speed", "setting of the window",
     "The speed of the screw while the mold fills. The aim is the geometric mean of its limits.",
     NULL},
    {"knee_broken_stick", "quantity of viscosity",
     "Where two straight lines that describe the curve meet. For comparison only.", NULL},
    {"knee_chord", "quantity of viscosity",
     "The point of the curve farthest from its chord. For comparison only.", NULL},
    {"knee_sensitivity", "quantity of viscosity",
     "The longest fill time from which on a fill slower by speed_disturbance changes viscosity by "
     "no more than viscosity_tolerance.",
     NULL},
    {"melt_temperature", "setting of the window",
     "Temperature of the melt. All limits hold for the temperature at which the studies were run.",
     NULL},
    {"met", "verdict",
     "The whole interval of what was measured lies on the safe side of the limit: the trial shows "
     "it.",
     NULL},
    {"mold_temperature", "setting of the window",
     "Temperature of the surface of the mold. All limits hold for the temperature at which the "
     "studies were run.",
     NULL},
    {"none", "verdict", "Nothing was judged: the study demands nothing here.", NULL},
    {"not-met", "verdict",
     "The whole interval lies on the wrong side of the limit: the trial shows that the criterion "
     "is missed.",
     "Mend the cause, or move the setting; the sentence beside the verdict says which."},
    {"not-shown", "verdict",
     "The interval reaches both sides of the limit, or something that is needed is missing: the "
     "trial shows neither that the criterion is met nor that it is missed.",
     "The sentence beside the verdict says what would decide it: more shots, other settings, or a "
     "missing entry."},
    {"paths_p", "quantity of cavity-balance",
     "Chance of such differences between the sets of equal paths if the paths did nothing (F "
     "test).",
     NULL},
    {"paths_share", "quantity of cavity-balance",
     "Share of the cavity differences that lies between the sets of equal paths; the rest lies "
     "within them.",
     NULL},
    {"peak_pressure_step", "quantity of viscosity", "Step of the readings of peak pressure.", NULL},
    {"plateau_start", "quantity of gate-freeze",
     "Corner of the curve of weight over hold time, where the best curve has one.", NULL},
    {"plateau_weight", "quantity of gate-freeze", "Part weight once the gate is frozen.", NULL},
    {"power_law_index", "quantity of viscosity",
     "n of the power law: 1 for a melt that does not thin with speed, smaller the more it does.",
     NULL},
    {"pressure_use", "quantity of pressure-drop and viscosity",
     "Share of the available pressure that filling takes.", NULL},
    {"residual_sd", "quantity of cavity-balance",
     "Scatter of a cavity's weight once what its shot has in common is taken out (standard "
     "deviation).",
     NULL},
    {"shot_sd", "quantity of several studies",
     "Scatter from shot to shot at one setting (standard deviation).", NULL},
    {"slowest_fill_time", "quantity of viscosity",
     "Longest fill time allowed: the least of its upper limits.", NULL},
    {"tenth_second_cost", "quantity of cooling", "What 0.1 s of cycle time costs a year.", NULL},
    {"tenth_second_hours", "quantity of cooling",
     "Press hours a year that 0.1 s of cycle time takes.", NULL},
    {"theoretical_cooling_time", "quantity of cooling",
     "Closed time that conduction in a slab leads to expect until the mean over the wall is at the "
     "ejection temperature.",
     NULL},
    {"theoretical_cooling_time_centre", "quantity of cooling",
     "The same until the middle of the wall is.", NULL},
    {"transfer_pressure", "setting of the window",
     "Pressure when the press changes from fill to hold. It is watched, not set.", NULL},
    {"transfer_pressure_step", "quantity of viscosity",
     "Step of the readings of transfer pressure.", NULL},
    {"weight_sensitivity", "quantity of gate-freeze",
     "What a second of hold time is worth in part weight, for a gate that is meant to stay open.",
     NULL},
};

const struct explain_word *explain_words(size_t *n)
{
    *n = PL_COUNT(words);
    return words;
}
