/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the flags mean and what to do at the press. */
#include "cooling.h"

const struct flag_spec cooling_flags[COOLING_FLAGS] = {
    {"age-not-given", FLAG_DOUBT,
     "How long after molding the parts were measured is not given for every shot. Parts go on "
     "shrinking for a day or longer, so their limits cannot be counted as shown.",
     "Write the time between molding and measuring into the column `age`, and measure all parts "
     "after the conditioning time (24 h unless trial.ini says otherwise)."},
    {"band-too-narrow", FLAG_DOUBT,
     "The limits lie so close together, beside the scatter of the parts, that a study of this size "
     "cannot show enough parts inside them even where the mean is exactly in the middle.",
     "Run the shots the flag asks for at each cooling time. Where no number of shots will do, mend "
     "the scatter first (hold pressure, mold and melt temperature, the gauge), or ask for wider "
     "limits."},
    {"bracket-only", FLAG_DOUBT,
     "There are too few cooling times for a curve. The least time is only known to lie between two "
     "tested ones; the longer one is taken as the bound.",
     "Run at least five cooling times, three shots each, two of them clearly longer than needed."},
    {"coarse-reading", FLAG_DOUBT,
     "The readings step by more than the tolerance on movement, so they cannot show that a "
     "dimension stays within it. The tolerance was raised to one step.",
     "Measure with an instrument that reads at least ten times finer than the tolerance."},
    {"ejection-defects", FLAG_DOUBT,
     "Parts ejected at some of the cooling times had a defect. The first tested time above the "
     "last one with a defect is a lower bound; a few good shots do not show how rare the defect "
     "is there.",
     "Cool longer than that. Look at the ejectors too: marks and bent parts also come from "
     "ejectors "
     "that push unevenly, from undercuts and from too little draft."},
    {"fill-not-given", FLAG_NOTE,
     "The fill time is not known, so the closed time counts from the end of filling, in the study "
     "and in the window alike.",
     "Note the fill time of the press in the column `fill_time`, or under [running] in trial.ini."},
    {"hold-not-constant", FLAG_DOUBT,
     "The hold time was not the same in all shots. It packs the part as well as cooling it, so a "
     "dimension may have moved for another reason than cooling.",
     "Keep the hold time at its intended value and change the cooling time alone."},
    {"hold-not-given", FLAG_DOUBT,
     "The hold time is not known. The part cools during hold too, so the bound stands on the "
     "cooling timer alone, holds for the hold time that was run, and cannot be shown.",
     "Note the hold time in the column `hold_time`, or under [running] in trial.ini."},
    {"incomplete-shots", FLAG_DOUBT,
     "Some shots have no reading for some cavities. They are left out of the means: a mean over "
     "other cavities would not compare.",
     "Measure every cavity of every kept shot."},
    {"misfit", FLAG_DOUBT,
     "The conditions scatter around the best curve by more than shots do within a condition: "
     "either the curve has another shape, or the settings did not repeat.",
     "Read the answer as the interval, not as the single value; repeat one cooling time at the end "
     "of the study to see which of the two it is."},
    {"no-limit", FLAG_NOTE,
     "Something was measured for which trial.ini gives no limit. It is shown and decides nothing.",
     "Give limits under [dimensions], or ejection_temperature under [material]."},
    {"no-repeats", FLAG_DOUBT,
     "There is one shot per cooling time: scatter from shot to shot is not known.",
     "Keep at least three shots at each cooling time."},
    {"not-cold-enough", FLAG_DOUBT,
     "At the longest tested time the part is not shown to be below the ejection temperature. No "
     "closed time is bounded, and none is extrapolated.",
     "Test longer cooling times, or cool the mold better: flow, temperature, lime in the channels. "
     "Handle such parts with care; they are hot."},
    {"outside-limits", FLAG_DOUBT,
     "At the longest tested time too many parts are shown to be outside their limits. Longer "
     "cooling does not help a dimension that has settled at the wrong size.",
     "Change what sets the size: hold pressure, mold temperature, or the steel. Then run the study "
     "again."},
    {"parts-too-young", FLAG_DOUBT,
     "The parts were measured before the conditioning time was over. They go on shrinking, so "
     "their limits do not count yet.",
     "Keep the parts, and measure them again after the conditioning time (24 h unless trial.ini "
     "says otherwise; for a material that takes up water, as its supplier says)."},
    {"price-of-time", FLAG_NOTE, "What a tenth of a second of cycle time costs in a year.",
     "Weigh it against the margin that is added to the bound."},
    {"range-too-short", FLAG_DOUBT,
     "A dimension levels off, but fewer than two tested times lie beyond the interval in which it "
     "settles: nothing shows that it stays.",
     "Run two cooling times beyond the interval's end."},
    {"scatter-large", FLAG_DOUBT,
     "Shots of one cooling time differ by more than the tolerance on movement: no number of "
     "cooling times shows that a dimension has settled within it.",
     "Mend the scatter first: hold pressure, cushion, mold temperature, the gauge and how the part "
     "is held in it. Then run the study again, or agree on a wider tolerance."},
    {"settled-before-first", FLAG_NOTE,
     "A dimension is the same at every tested time: it has settled before the shortest one.",
     "The shortest tested time is safe for it. To save cycle time, test shorter ones, as long as "
     "parts eject well."},
    {"settling-not-told", FLAG_DOUBT,
     "The data do not tell a dimension that settles from one that goes on moving: no closed time "
     "is given.",
     "Run more cooling times beyond the longest one, and more shots at each."},
    {"slab-check", FLAG_NOTE,
     "How long a flat wall of this thickness takes to cool by conduction, as a check on the order "
     "of magnitude. Ribs, bosses, cores that run hot and a diffusivity from another source change "
     "it by a factor of two and more.",
     "If the closed time found is several times longer, look for a hot core, a thick boss or a "
     "blocked cooling channel; if it is much shorter, check wall thickness and diffusivity in "
     "trial.ini."},
    {"still-moving", FLAG_DOUBT,
     "A dimension still changes at the longest tested time by more than the tolerance. No closed "
     "time is bounded, and none is extrapolated.",
     "Test longer cooling times. Where the cycle cannot be longer, hold the part in a fixture "
     "while it cools outside the mold, or mark the dimension `not at ejection` in trial.ini if its "
     "movement does not matter."},
    {"too-little-data", FLAG_DOUBT,
     "There are no two cooling times with usable shots, or nothing was measured on them.",
     "Run at least five cooling times, three shots each, and measure the dimensions of "
     "[dimensions], warp or the part temperature."},
};
