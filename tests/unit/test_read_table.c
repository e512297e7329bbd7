/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files as people send them: what is read, what is listed as repaired, what is refused. One test a
 * file. Expected tables were worked out by hand. */
#include "read_cases.h"

struct case_ {
    const char *name;
    int study; /* index in case_studies */
    const char *text;
    const char *facts;
    const char *errors;  /* codes in the order told, blank between them */
    const char *repairs; /* the same */
    const char *table;   /* NULL: not looked at */
};

enum { W, P, S }; /* weights, pressures, stages */

#define GOOD "hold_time:0 weight:0\n1 1 10.5\n2 2 11.5"

static const struct case_ cases[] = {
    /* ---- separator, header, rows ----------------------------------------------------------------
     */
    {"plain", W, "hold_time [s],weight [g]\n1,10.5\n2,11.5\n", NULL, "", "", GOOD},
    {"no_newline_at_end", W, "hold_time [s],weight [g]\n1,10.5\n2,11.5", NULL, "", "", GOOD},
    {"cr_only", W, "hold_time [s],weight [g]\r1,10.5\r2,11.5\r", NULL, "", "", GOOD},
    {"mixed_line_ends", W, "hold_time [s],weight [g]\r\n1,10.5\r2,11.5\n", NULL, "", "", GOOD},
    {"semicolon_comma", W, "hold_time [s];weight [g]\n1;10,5\n2;11,5\n", NULL, "", "", GOOD},
    {"semicolon_point", W, "hold_time [s];weight [g]\n1;10.5\n2;11.5\n", NULL, "", "", GOOD},
    {"tab_comma", W, "hold_time [s]\tweight [g]\n1\t10,5\n2\t11,5\n", NULL, "", "", GOOD},
    {"bar", W, "hold_time [s]|weight [g]\n1|10.5\n2|11.5\n", NULL, "", "", GOOD},
    {"header_with_commas_and_semicolons", W, "Hold time, s;Weight, g\n1;10,5\n2;11,5\n", NULL, "",
     "", GOOD},
    {"sep_line", W, "sep=;\nhold_time [s];weight [g]\n1;10.5\n2;11.5\n", NULL, "", "separator-line",
     GOOD},
    {"sep_line_quoted", W, "\"sep=\t\"\nhold_time [s]\tweight [g]\n1\t10.5\n2\t11.5\n", NULL, "",
     "separator-line", GOOD},
    {"separator_given", W, "hold_time [s];weight [g]\n1;10.5\n2;11.5\n",
     "files.separator=semicolon", "", "", GOOD},
    {"separator_given_for_study", W, "hold_time [s];weight [g]\n1;10.5\n2;11.5\n",
     "files.separator=tab;files.weights.separator=semicolon", "", "", GOOD},
    {"separator_undecided", W, "hold_time [s],weight [g]\n1,2\nhold_time [s];weight [g]\n1;2\n",
     NULL, "separator-undecided", "", NULL},
    {"quoted", W,
     "\"hold_time [s]\",\"weight [g]\",note\n\"1\",\"10.5\",\"a, \"\"b\"\"\nc\"\n2,11.5,\n", NULL,
     "", "", GOOD},
    {"spaces_around", W,
     " hold_time [s] , weight [g] \n 1 , 10.5 \n\xC2\xA0"
     "2\xC2\xA0,11.5\n",
     NULL, "", "no-break-blanks", GOOD},
    {"preamble_and_comments", W,
     "Study of Monday;;\nPress;7;\n\n# one row a shot\nhold_time [s];weight [g];\n1;10,5;\n# "
     "pause\n2;"
     "11,5;\n",
     NULL, "", "", GOOD},
    {"comment_with_quote", W,
     "# don\"t \"panic, really\nhold_time [s],weight [g]\n1,10.5\n2,11.5\n", NULL, "", "", GOOD},
    {"preamble_with_inch_mark", W, "Screw 1.5\" x 20\nhold_time [s],weight [g]\n1,10.5\n2,11.5\n",
     NULL, "", "", GOOD},
    {"hash_row", W, "hold_time [s],weight [g]\n1,10.5\n#9,9\n2,11.5\n", NULL, "", "hash-row", GOOD},
    {"hash_header", W, "#,hold_time [s],weight [g]\n1,1,10.5\n2,2,11.5\n", NULL, "", "other-name",
     GOOD},
    {"hash_before_header", W, "#hold_time [s],weight [g]\n1,10.5\n2,11.5\n", NULL, "",
     "header-behind-hash", GOOD},
    {"hash_ids", W, "shot,hold_time [s],weight [g]\n#2,2,11.5\n\n#1,1,10.5\n", NULL, "",
     "blank-row rows-out-of-order", GOOD},
    {"units_row", W, "hold_time,weight\n[s],g\n1,10.5\n2,11.5\n", NULL, "", "", GOOD},
    {"units_row_with_text_column", W, "note,hold_time,weight\n,s,g\na,1,10.5\nb,2,11.5\n", NULL, "",
     "", GOOD},
    {"blank_rows", W, "hold_time [s],weight [g]\n1,10.5\n,\n\n2,11.5\n,\n,\n", NULL, "",
     "blank-row", GOOD},
    {"trailing_columns", W, "hold_time [s],weight [g],,\n1,10.5,,\n2,11.5,,,,\n", NULL, "", "",
     GOOD},
    {"short_rows", W, "hold_time [s],weight [g],note\n1,10.5\n2,11.5,x\n", NULL, "", "short-row",
     GOOD},
    {"repeated_header", W, "hold_time,weight\ns,g\n1,10.5\nHold time,weight\ns,g\n2,11.5\n", NULL,
     "", "header-repeated", GOOD},
    {"summary_rows", W,
     "shot,hold_time [s],weight [g]\n1,1,10.5\n2,2,11.5\naverage,,11\nStd. Dev.,,0.7\n,MIN,10.5\n",
     NULL, "", "summary-row", "hold_time:0 weight:0\n1 1 10.5\n2 2 11.5\n3- ? ?\n4- ? ?\n5- ? ?"},
    {"mean_sign", W, "shot,hold_time [s],weight [g]\n1,1,10.5\n2,2,11.5\n\xC3\x98,,11\n", NULL, "",
     "summary-row", "hold_time:0 weight:0\n1 1 10.5\n2 2 11.5\n3- ? ?"},
    {"max_is_a_name", S, "stage,fill [%]\nmin,50\nmax,60\nmax,70\n", NULL, "", "",
     "fill:0\n1 0.5\n2 0.6\n3 0.7"},
    {"no_is_not_n", W, "exclude,hold_time [s],weight [g]\nn,1,10.5\nn,2,11.5\n", NULL, "", "",
     GOOD},
    {"footer", W, "hold_time [s],weight [g]\n1,10.5\n2,11.5\n\nend of file\n", NULL, "", "footer",
     "hold_time:0 weight:0\n1 1 10.5\n2 2 11.5\n3- ? ?"},
    {"two_header_rows", W, "hold,,part\ntime [s],cushion [mm],weight [g]\n1,5,10.5\n2,5,11.5\n",
     NULL, "", "other-name header-in-two-rows", "hold_time:0 weight:0\n1 1 10.5\n2 2 11.5"},
    {"merged_settings", W, "hold_time [s],weight [g]\n1,10\n,11\n,12\n2,13\n,14\n1,15\n,16\n", NULL,
     "", "filled-down",
     "hold_time:0 weight:0\n1 1 10\n2 1 11\n3 1 12\n4 2 13\n5 2 14\n6 1 15\n7 1 16"},
    {"average_without_label_is_not_filled", W,
     "hold_time [s],weight [g]\n1,10\n,11\n2,12\n,13\n\n,11.5\n", NULL, "",
     "blank-row filled-down missing-reading",
     "hold_time:0 weight:0\n1 1 10\n2 1 11\n3 2 12\n4 2 13\n5- ? 11.5"},
    {"blocks_between_blank_rows", W, "hold_time [s],weight [g]\n1,10\n,11\n\n2,12\n,13\n", NULL, "",
     "blank-row filled-down", "hold_time:0 weight:0\n1 1 10\n2 1 11\n3 2 12\n4 2 13"},
    {"forgotten_setting_is_not_filled", W,
     "hold_time [s],weight [g]\n1,10\n2,11\n,12\n4,13\n5,14\n", NULL, "", "missing-reading",
     "hold_time:0 weight:0\n1 1 10\n2 2 11\n3- ? 12\n4 4 13\n5 5 14"},
    {"repeated_setting_is_not_filled", W, "hold_time [s],weight [g]\n1,10\n1,11\n,12\n2,13\n,14\n",
     NULL, "", "missing-reading", "hold_time:0 weight:0\n1 1 10\n2 1 11\n3- ? 12\n4 2 13\n5- ? 14"},
    {"readings_are_never_filled", W, "hold_time [s],weight [g]\n1,10\n2,\n3,12\n4,\n", NULL, "",
     "missing-reading", "hold_time:0 weight:0\n1 1 10\n2- 2 ?\n3 3 12\n4- 4 ?"},

    /* ---- header names ---------------------------------------------------------------------------
     */
    {"names_folded", W, "HOLD-TIME (s),P\xC3\xA4rt.W\xC3\xA9ight [g]\n1,10.5\n2,11.5\n", NULL, "",
     "other-name", GOOD},
    {"unit_by_comma_slash_underscore", W, "hold time/s,weight_g\n1,10.5\n2,11.5\n", NULL, "", "",
     GOOD},
    {"unit_by_in", W, "hold time in s,weight g\n1,10.5\n2,11.5\n", NULL, "", "", GOOD},
    {"longest_unit", P, "Fill time s,transfer pressure melt bar,Speed mm/s\n1,500,20\n", NULL, "",
     "other-name", "fill_time:0 transfer_pressure:0 injection_speed:0\n1 1 50 20"},
    {"minimum_is_no_minute", W, "hold_time [s],weight [g],weight min\n1,10.5,3\n2,11.5,3\n", NULL,
     "", "", GOOD},
    {"header_line_break", W, "\"hold\ntime [s]\",weight [g]\n1,10.5\n2,11.5\n", NULL, "",
     "header-line-break", GOOD},
    {"invisible_in_header", W, "\xE2\x80\x8Bhold_time [s],weight [g]\n1,10.5\n2,11.5\n", NULL, "",
     "invisible-characters", GOOD},
    {"unused_columns", W, "hold_time [s],foo,weight [g],foo\n1,a,10.5,b\n2,c,11.5,d\n", NULL, "",
     "duplicate-unused", GOOD},
    {"mapped", W, "Nachdruckzeit [s],weight [g]\n1,10.5\n2,11.5\n",
     "columns.weights.hold_time=Nachdruckzeit", "", "other-name", GOOD},
    {"mapped_wins", W, "Zeit [s],hold_time [min],weight [g]\n1,7,10.5\n2,8,11.5\n",
     "columns.weights.hold_time=Zeit", "", "other-name", GOOD},
    {"mapped_missing", W, "Nachdruck [s],weight [g]\n1,10.5\n",
     "columns.weights.hold_time=Nachdruckzeit", "mapped-column-missing", "", NULL},
    {"units_from_ini", W, "hold_time,weight\n1,10.5\n2,11.5\n",
     "units.weights.hold_time=s;units.weights.weight=g", "", "", GOOD},
    {"count_in_dashes", W, "hold_time [s],weight [g],repeat [-]\n1,10.5,1\n", NULL, "", "",
     "hold_time:0 weight:0 repeat:0\n1 1 10.5 1"},
    {"dimension_column", W, "hold_time [s],weight [g],flange [mm]\n1,10.5,<3\n",
     "dimensions.flange=3", "", "limit-kept", "hold_time:0 weight:0 flange:0\n1 1 10.5 <3"},

    /* ---- cavities -------------------------------------------------------------------------------
     */
    {"wide", W, "hold_time [s],weight c1 [g],weight cav. 2 (g),weight_3 [g]\n1,1,2,3\n2,4,,6\n",
     NULL, "", "empty-cell", "hold_time:0 weight:1 weight:2 weight:3\n1 1 1 2 3\n2 2 4 ? 6"},
    {"wide_bare", W, "hold_time [s],cavity 1 [g],Cavity 2 [g]\n1,1,2\n", NULL, "", "other-name",
     "hold_time:0 weight:1 weight:2\n1 1 1 2"},
    {"wide_in_front", W, "hold_time [s],c1 weight [g],c2 weight [g],weight (c4) [g]\n1,1,2,3\n",
     NULL, "", "", "hold_time:0 weight:1 weight:2 weight:4\n1 1 1 2 3"},
    {"long_by_cavity", W,
     "hold_time [s],cavity,weight [g]\n1,1,1\n1,2,2\n1,1,3\n1,2,4\n2,2,6\n2,1,5\n", NULL, "", "",
     "hold_time:0 weight:1 weight:2\n1 1 1 2\n2 1 3 4\n3 2 5 6"},
    {"long_by_shot_in_any_order", W,
     "shot,hold_time [s],cavity,weight [g]\n2,2,C2,4\n1,1,C1,1\n2,2,C1,3\n1,1,C2,2\n", NULL, "",
     "rows-out-of-order", "hold_time:0 weight:1 weight:2\n1 1 1 2\n2 2 3 4"},
    {"long_merged", W, "shot,hold_time [s],cavity,weight [g]\n1,1,1,1\n,,2,2\n2,2,1,3\n,,2,4\n",
     NULL, "", "filled-down", "hold_time:0 weight:1 weight:2\n1 1 1 2\n2 2 3 4"},
    {"long_cavity_excluded", W,
     "hold_time [s],cavity,weight [g],exclude\n1,1,1,\n1,2,2,gate blocked\n2,1,3,x\n2,2,4,x\n",
     NULL, "", "cavity-left-out", "hold_time:0 weight:1 weight:2\n1 1 1 ?\n2x 2 3 4"},
    {"long_without_cavity_number", W, "hold_time [s],cavity,weight [g]\n1,1,1\n1,,2\n2,1,3\n", NULL,
     "", "missing-reading", "hold_time:0 weight:1\n1 1 1\n2 2 3"},

    /* ---- exclude, defect, shot ------------------------------------------------------------------
     */
    {"exclude", W,
     "hold_time [s],weight "
     "[g],exclude\n1,1,no\n1,2,N\n1,3,0\n1,4,-\n1,5,yes\n1,6,X\n1,7,1\n1,8,short "
     "shot\n",
     NULL, "", "",
     "hold_time:0 weight:0\n1 1 1\n2 1 2\n3 1 3\n4 1 4\n5x 1 5\n6x 1 6\n7x 1 7\n8x 1 8"},
    {"excluded_rubbish", W,
     "hold_time [s],weight [g],exclude\n1,10.5,\n2,11.5,\n3,spilled,dropped\n", NULL, "",
     "unreadable-in-excluded-row", "hold_time:0 weight:0\n1 1 10.5\n2 2 11.5\n3x 3 ?"},
    {"defect", W, "hold_time [s],weight [g],defect\n1,1,OK\n1,2,-\n1,3,flash\n1,4,None\n", NULL, "",
     "", "hold_time:0 weight:0\n1 1 1\n2 1 2\n3 1 3 {flash}\n4 1 4"},
    {"no_defect_in_other_words", W,
     "hold_time [s],weight [g],defect\n1,1,no\n1,2,0\n1,3,i.O.\n1,4,No defect\n1,5,not ok\n1,6,1\n"
     "1,7,False\n",
     NULL, "", "",
     "hold_time:0 weight:0\n1 1 1\n2 1 2\n3 1 3\n4 1 4\n5 1 5 {not ok}\n6 1 6 {1}\n7 1 7"},
    {"shot_order", W, "shot,hold_time [s],weight [g]\n2,2,11.5\n1,1,10.5\n", NULL, "",
     "rows-out-of-order", GOOD},
    {"shot_numbers_restart", W, "shot,hold_time [s],weight [g]\n1,1,1\n2,1,2\n1,2,3\n2,2,4\n", NULL,
     "", "shot-numbers-repeat", "hold_time:0 weight:0\n1 1 1\n2 1 2\n3 2 3\n4 2 4"},

    /* ---- numbers --------------------------------------------------------------------------------
     */
    {"missing_words", W, "hold_time [s],weight [g],cushion [mm]\n1,10.5,n/a\n2,11.5,--\n3,?,5\n",
     NULL, "", "missing-word missing-reading",
     "hold_time:0 weight:0 cushion:0\n1 1 10.5 ?\n2 2 11.5 ?\n3- 3 ? 5"},
    {"censored", W, "hold_time [s],weight [g]\n1,<10.5\n2,>11.5\n", NULL, "", "limit-kept",
     "hold_time:0 weight:0\n1 1 <10.5\n2 2 >11.5"},
    {"unit_in_cells", W, "hold_time,weight [g]\n1 s,10.5 g\n2 s,11.5 g\n", NULL, "",
     "unit-from-cells unit-in-cell", GOOD},
    {"unit_converted", W, "hold_time [s],weight [g]\n1,10.5\n2000 ms,0.0115 kg\n", NULL, "",
     "unit-converted", GOOD},
    {"decimal_comma_unit", W, "hold_time [s];weight\n1;10,5 g\n2;11,5 g\n", NULL, "",
     "unit-from-cells unit-in-cell", GOOD},
    {"thousands", W, "hold_time [s];weight [g]\n1;1.210,5\n2;1 211,5\n3;1'212,5\n", NULL, "",
     "thousands-marks", "hold_time:0 weight:0\n1 1 1210.5\n2 2 1211.5\n3 3 1212.5"},
    {"oddities", W,
     "hold_time [s],weight [g],cushion [mm]\n1,'10.5,\xE2\x80\x93"
     "5\n2,11.5,\xE2\x88\x92.5\n",
     NULL, "", "leading-apostrophe dash-as-minus bare-decimal-mark",
     "hold_time:0 weight:0 cushion:0\n1 1 10.5 -5\n2 2 11.5 -0.5"},
    {"sheet_error_where_not_needed", W,
     "hold_time [s],weight [g],cushion [mm]\n1,10.5,#N/A\n2,11.5,5\n", NULL, "", "sheet-error",
     "hold_time:0 weight:0 cushion:0\n1 1 10.5 ?\n2 2 11.5 5"},
    {"percent", S, "stage,fill\na,50 %\nb,60 %\n", NULL, "", "unit-from-cells unit-in-cell",
     "fill:0\n1 0.5\n2 0.6"},
    {"fraction_unit", S, "stage,fill [1]\na,0.5\nb,0.6\n", NULL, "", "", "fill:0\n1 0.5\n2 0.6"},
    {"percent_of_part", S, "stage,fill (% of full part)\na,50\n", NULL, "", "", "fill:0\n1 0.5"},

    /* ---- decimal mark ---------------------------------------------------------------------------
     */
    {"decimal_given", W, "hold_time [s];weight [g]\n1;1,234\n2;1,235\n", "files.decimal=comma", "",
     "", "hold_time:0 weight:0\n1 1 1.234\n2 2 1.235"},
    {"decimal_given_for_study", W, "hold_time [s];weight [g]\n1;1,234\n2;1,235\n",
     "files.decimal=comma;files.weights.decimal=point", "", "thousands-marks",
     "hold_time:0 weight:0\n1 1 1234\n2 2 1235"},
    {"decimal_by_leading_zero", W, "hold_time [s];weight [g]\n1;1,234\n2;0,987\n", NULL, "", "",
     "hold_time:0 weight:0\n1 1 1.234\n2 2 0.987"},
    {"decimal_by_other_column", W, "hold_time [s];weight [g]\n1,5;1,234\n2,5;1,235\n", NULL, "", "",
     "hold_time:0 weight:0\n1 1.5 1.234\n2 2.5 1.235"},
    {"decimal_by_range", W, "hold_time [s];weight [g]\n1;25,123\n2;25,131\n", NULL, "",
     "decimal-from-range", "hold_time:0 weight:0\n1 1 25.123\n2 2 25.131"},
    {"decimal_by_part_weight", W, "hold_time [s];weight [g]\n1;1,234\n2;1,235\n",
     "mold.part_weight=1.2", "", "decimal-from-range",
     "hold_time:0 weight:0\n1 1 1.234\n2 2 1.235"},
    {"decimal_by_separator", W, "hold_time [s],weight [g]\n1,1.234\n2,1.235\n", NULL, "",
     "decimal-from-separator", "hold_time:0 weight:0\n1 1 1.234\n2 2 1.235"},
    {"decimal_quoted_commas", W, "hold_time [s],weight [g]\n1,\"1,234\"\n2,\"1,235\"\n", NULL,
     "decimal-undecided", "thousands-marks", NULL},
    {"decimal_semicolons_and_points", W, "hold_time [s];weight [g]\n1;1.234\n2;1.235\n", NULL,
     "decimal-undecided", "", NULL},
    {"decimal_undecided", W, "hold_time [s];weight [g]\n1;1,234\n2;1,235\n", NULL,
     "decimal-undecided", "thousands-marks", NULL},
    {"decimal_mixed", W, "hold_time [s];weight [g]\n1;10,5\n2;11.5\n", NULL, "mixed-decimal-marks",
     "", NULL},
    {"decimal_other_than_given", W, "hold_time [s];weight [g]\n1;10,5\n2;11,5\n",
     "files.decimal=point", "other-decimal-mark", "", NULL},

    /* ---- speed and pressure ---------------------------------------------------------------------
     */
    {"pressure_basis_melt", P, "fill_time [s],transfer pressure, melt [bar]\n", NULL, "no-rows", "",
     NULL},
    {"hydraulic_by_header", P, "fill_time [s];transfer pressure, hydraulic [bar]\n1;50\n",
     "press.intensification_ratio=10", "", "", "fill_time:0 transfer_pressure:0\n1 1 50"},
    {"hydraulic_pressure_by_name", P, "fill_time [s],hydraulic_pressure [bar]\n1,50\n",
     "press.intensification_ratio=10", "", "", "fill_time:0 transfer_pressure:0\n1 1 50"},
    {"melt_pressure_by_name", P, "fill_time [s],melt_pressure [bar]\n1,500\n",
     "press.pressure_basis=hydraulic;press.intensification_ratio=10", "", "",
     "fill_time:0 transfer_pressure:0\n1 1 50"},
    {"basis_in_the_bracket", P, "fill_time [s],transfer_pressure [bar hydraulic]\n1,50\n",
     "press.intensification_ratio=10", "", "", "fill_time:0 transfer_pressure:0\n1 1 50"},
    {"basis_from_ini", P, "fill_time [s],transfer_pressure [bar]\n1,50\n",
     "press.pressure_basis=hydraulic;press.intensification_ratio=10", "", "",
     "fill_time:0 transfer_pressure:0\n1 1 50"},
    {"basis_missing", P, "fill_time [s],transfer_pressure [bar]\n1,50\n", NULL,
     "pressure-basis-missing", "", NULL},
    {"ratio_missing", P, "fill_time [s],hydraulic_pressure [bar]\n1,50\n", NULL,
     "intensification-missing", "", NULL},
    {"beyond_press", P, "fill_time [s],melt_pressure [bar]\n1,2199\n2,2201\n",
     "press.pressure_basis=melt;press.max_injection_pressure=200", "beyond-press-limit", "", NULL},
    {"speed_as_volume", P, "fill_time [s],melt_pressure [bar],injection speed [cm3/s]\n1,500,50\n",
     "press.screw_diameter=35", "", "",
     "fill_time:0 transfer_pressure:0 injection_speed:0\n1 1 50 51.968961"},
    {"speed_in_percent", P, "fill_time [s],melt_pressure [bar],injection speed [%]\n1,500,25\n",
     "press.max_injection_speed=200", "", "",
     "fill_time:0 transfer_pressure:0 injection_speed:0\n1 1 50 50"},
    {"speed_needs_screw", P,
     "fill_time [s],melt_pressure [bar],injection speed [cm3/s]\n1,500,50\n", NULL,
     "speed-needs-press", "", NULL},
    {"speed_needs_maximum", P, "fill_time [s],melt_pressure [bar],injection speed [%]\n1,500,50\n",
     NULL, "speed-needs-press", "", NULL},
    {"fahrenheit", P,
     "fill_time [s],melt_pressure [bar],melt temp [\xC2\xB0"
     "F]\n1,500,446\n",
     NULL, "", "other-name", "fill_time:0 transfer_pressure:0 melt_temperature:0\n1 1 50 230"},

    /* ---- encodings ------------------------------------------------------------------------------
     */
    {"windows_1252", P,
     "fill_time [s],melt_pressure [bar],melt temp [\xB0"
     "C]\n1,500,230\n",
     NULL, "", "encoding-assumed other-name",
     "fill_time:0 transfer_pressure:0 melt_temperature:0\n1 1 50 230"},
    {"encoding_given", P,
     "fill_time [s],melt_pressure [bar],melt temp [\xB0"
     "C]\n1,500,230\n",
     "files.encoding=Windows-1252", "", "other-name",
     "fill_time:0 transfer_pressure:0 melt_temperature:0\n1 1 50 230"},
    {"stray_byte_in_note", W, "hold_time [s],weight [g],note\n1,10.5,\xC2\xB0\n2,11.5,\xB0\n", NULL,
     "", "mixed-encodings", GOOD},
    {"stray_byte_in_number", W,
     "hold_time [s],weight [g],note\n1,10.5,\xC2\xB0\n2,\xB1"
     "11.5,\n",
     NULL, "mixed-encodings", "", NULL},
    {"stray_byte_in_header", W, "hold_time [s],weight [g],n\xB0\n1,10.5,\xC2\xB0\n", NULL,
     "mixed-encodings", "", NULL},

    /* ---- refused: files -------------------------------------------------------------------------
     */
    {"empty", W, "", NULL, "empty-file", "", NULL},
    {"blank_lines_only", W, "\n\n,,\n", NULL, "empty-file", "", NULL},
    {"comments_only", W, "# a\n# b\n", NULL, "empty-file", "", NULL},
    {"header_only", W, "hold_time [s],weight [g]\n", NULL, "no-rows", "", NULL},
    {"workbook", W, "PK\x03\x04 xl/", NULL, "not-text", "", NULL},
    {"unassigned_byte", W, "hold_time\x81", NULL, "encoding-not-known", "", NULL},
    {"no_header", W, "1,10.5\n2,11.5\n", NULL, "no-header", "", NULL},
    {"missing_column", W, "hold_time [s],weihgt [g]\n1,10.5\n", NULL, "missing-column", "", NULL},
    {"transposed", W, "hold_time [s],1,2,3\nweight [g],10,11,12\n", NULL, "transposed", "", NULL},
    {"second_table", W, "hold_time [s],weight [g]\n1,10.5\nweight [g],cushion [mm]\n10.5,5\n", NULL,
     "second-table", "", NULL},
    {"cut_off", W, "hold_time [s],weight [g]\n1,10.5\n2", NULL, "file-cut-off", "", NULL},
    /* ---- refused: records -----------------------------------------------------------------------
     */
    {"open_quote_at_end", W, "hold_time [s],weight [g],note\n1,10.5,\"a\n2,11.5,b\n", NULL,
     "open-quote", "", NULL},
    {"open_quote_closed_below", W,
     "hold_time [s],weight [g],note\n1,10.5,\"a\n2,11.5,b\n3,12,\"c\"\n", NULL, "open-quote", "",
     NULL},
    {"open_quote_swallows_rows", W,
     "hold_time [s],weight [g],note\n1,1,\"a\n2,2,b\n3,3,b\n4,4,b\n5,5,b\n6,6,b\n7,7,b\"\n", NULL,
     "open-quote stray-quote", "", NULL},
    {"text_after_quote", W, "hold_time [s],weight [g],note\n1,10.5,\"a\"b\n", NULL,
     "text-after-quote", "", NULL},
    {"backslash_quote", W, "hold_time [s],weight [g],note\n1,10.5,\"a \\\"b\\\" c\"\n", NULL,
     "backslash-quote", "", NULL},
    {"stray_quote", W, "hold_time [s],weight [g],note\n1,10.5,5\" screw\n", NULL, "stray-quote", "",
     NULL},
    {"typographic_quotes", W,
     "hold_time [s],weight [g],note\n1,10.5,\xE2\x80\x9C"
     "a, b\xE2\x80\x9D\n",
     NULL, "typographic-quotes", "", NULL},
    {"typographic_quotes_around_text", W,
     "hold_time [s],weight [g],note\n1,10.5,\xE2\x80\x9C"
     "a\xE2\x80\x9D\n2,11.5,\n",
     NULL, "", "typographic-quotes", GOOD},
    {"too_many_cells", W, "hold_time [s],weight [g]\n1,10,5\n2,11,5\n", NULL, "too-many-cells", "",
     NULL},
    {"too_few_cells", W, "hold_time [s],weight [g]\n1,10.5\n2\n3,4\n", NULL, "too-few-cells", "",
     NULL},
    {"value_without_header", W, "hold_time [s],,weight [g]\n1,odd,10.5\n", NULL,
     "value-without-header", "", NULL},
    /* ---- refused: header ------------------------------------------------------------------------
     */
    {"duplicate", W, "hold_time [s],weight [g],part wt [g]\n1,10.5,10.5\n", NULL,
     "duplicate-column", "other-name", NULL},
    {"two_per_cavity_columns", W, "hold_time [s],weight [g],cavity 1 [mm]\n1,10.5,3\n",
     "dimensions.flange=3;dimensions.rim=2", "cavity-without-name", "", NULL},
    {"long_and_wide", W, "hold_time [s],cavity,weight [g],weight c1 [g]\n1,1,10.5,3\n", NULL,
     "long-and-wide", "", NULL},
    {"cavity_beyond_mold_wide", W, "hold_time [s],weight c3 [g]\n1,10.5\n", "mold.cavities=2",
     "cavity-beyond-mold", "", NULL},
    {"cavity_beyond_mold_long", W, "hold_time [s],cavity,weight [g]\n1,3,10.5\n", "mold.cavities=2",
     "cavity-beyond-mold", "", NULL},
    {"not_a_cavity", W, "hold_time [s],cavity,weight [g]\n1,left,10.5\n", NULL, "not-a-cavity", "",
     NULL},
    {"differs_within_shot", W,
     "shot,hold_time [s],cavity,weight [g],cushion [mm]\n1,1,1,10,5\n1,1,2,10,6\n", NULL,
     "differs-within-shot", "", NULL},
    /* ---- refused: units -------------------------------------------------------------------------
     */
    {"no_unit", W, "hold_time,weight [g]\n1,10.5\n", NULL, "column-without-unit", "", NULL},
    {"unit_not_known", W, "hold_time [s],weight [blob]\n1,10.5\n", NULL, "unit-not-known", "",
     NULL},
    {"unit_not_known_in_units_row", W, "hold_time,weight\ns,blob\n1,10.5\n", NULL, "unit-not-known",
     "", NULL},
    {"unit_of_other_kind", W, "hold_time [s],weight [bar]\n1,10.5\n", NULL, "unit-of-other-kind",
     "", NULL},
    {"unit_with_two_readings", W, "hold_time [s],weight [tons]\n1,10.5\n", NULL,
     "unit-has-two-readings", "", NULL},
    {"unit_not_wanted", W, "hold_time [s],weight [g],repeat [s]\n1,10.5,1\n", NULL,
     "unit-not-wanted", "", NULL},
    {"units_disagree", W, "hold_time [s],weight [g]\ns,kg\n1,10.5\n", NULL, "units-disagree", "",
     NULL},
    {"units_disagree_with_ini", W, "hold_time [s],weight [g]\n1,10.5\n", "units.weights.weight=kg",
     "units-disagree", "", NULL},
    {"unit_in_some_cells", W, "hold_time [s],weight\n1,10.5 g\n2,11.5\n", NULL,
     "unit-in-some-cells", "", NULL},
    {"mixed_percent", S, "stage,fill\na,50 %\nb,0.6\n", NULL, "unit-in-some-cells", "", NULL},
    {"cell_unit_of_other_kind", W, "hold_time [s],weight [g]\n1,10.5 bar\n", NULL,
     "unit-of-other-kind", "", NULL},
    {"cell_unit_two_readings", W, "hold_time [s],weight [g]\n1,10.5 t\n", NULL,
     "unit-has-two-readings", "", NULL},
    {"text_behind_number", W, "hold_time [s],weight [g]\n1,10.5*\n", NULL, "text-behind-number", "",
     NULL},
    /* ---- refused: numbers -----------------------------------------------------------------------
     */
    {"text", W, "hold_time [s],weight [g]\n1,10.5\n2,heavy\n", NULL, "not-a-number", "", NULL},
    {"hex", W, "hold_time [s],weight [g]\n1,0x1A\n", NULL, "not-a-number", "", NULL},
    {"date", W, "hold_time [s],weight [g]\n1,2-Jan\n", NULL, "date-in-number", "", NULL},
    {"clock", W, "hold_time [s],weight [g]\n0:01,10.5\n", NULL, "clock-in-number", "", NULL},
    {"range", W, "hold_time [s],weight [g]\n1,10-12\n", NULL, "two-numbers", "", NULL},
    {"fraction", W, "hold_time [s],weight [g]\n1/2,10.5\n", NULL, "fraction", "", NULL},
    {"approximate", W, "hold_time [s],weight [g]\n1,~10.5\n", NULL, "approximate", "", NULL},
    {"brackets", W, "hold_time [s],weight [g]\n1,(10.5)\n", NULL, "number-in-brackets", "", NULL},
    {"odd_groups", W, "hold_time [s],weight [g]\n1,1.2.3\n", NULL, "digits-grouped-oddly", "",
     NULL},
    {"infinite", W, "hold_time [s],weight [g]\n1,inf\n", NULL, "not-finite", "", NULL},
    {"formula", W, "hold_time [s],weight [g]\n1,=A1*2\n", NULL, "formula", "", NULL},
    {"no_limit", W, "hold_time [s],weight [g]\n1,<LOD\n", NULL, "limit-without-number", "", NULL},
    {"limit_in_setting", W, "hold_time [s],weight [g]\n<1,10.5\n", NULL, "limit-not-accepted", "",
     NULL},
    {"line_break", W, "hold_time [s],weight [g]\n1,\"10\n11\"\n", NULL, "line-break-in-number", "",
     NULL},
    {"long_number", W, "hold_time [s],weight [g]\n1,1.000000000000000000000000000000000000000001\n",
     NULL, "number-too-long", "", NULL},
    {"sheet_error", W, "hold_time [s],weight [g]\n1,#DIV/0!\n", NULL, "sheet-error", "", NULL},
    {"negative_time", W, "hold_time [s],weight [g]\n-1,10.5\n", NULL, "out-of-range", "", NULL},
    {"zero_weight", W, "hold_time [s],weight [g]\n1,0\n", NULL, "out-of-range", "", NULL},
    {"several_at_once", W, "hold_time [s],weight [g]\n1,0\n2-Jan,heavy\n3,\"x\"y\n4,1,2\n", NULL,
     "text-after-quote too-many-cells out-of-range date-in-number not-a-number", "", NULL},
};

/* Fails for a code that `explain` does not know. */
static void known(const char *code)
{
    size_t n;
    const struct code_text *all = read_codes(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(all[i].code, code) == 0)
            return;
    fail_msg("explain does not know %s", code);
}

static void is_read(void **state)
{
    const struct case_ *c = *state;
    struct arena *a = arena_new();
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    struct facts facts;
    struct table t;
    diag_init(&diags, a);
    case_facts(a, c->facts, &facts);
    assert_int_equal(table_load_bytes(a, "t.csv", c->text, strlen(c->text), &case_studies[c->study],
                                      &facts, &t, &diags, &e),
                     ERR_NONE);
    struct text errors, repairs;
    text_init(&errors, a);
    text_init(&repairs, a);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_WARNING) {
            known(diags.items[i].code);
        } else {
            text_addf(&errors, "%s%s", errors.length > 0 ? " " : "", diags.items[i].code);
            assert_true(diags.items[i].message[0] != '\0');
            known(diags.items[i].code);
            assert_non_null(diags.items[i].remedy);
        }
    for (size_t i = 0; i < t.sources[0].n_repairs; i++)
        known(t.sources[0].repairs[i].code);
    for (size_t i = 0; i < t.sources[0].n_repairs; i++)
        if (strstr(repairs.s, t.sources[0].repairs[i].code) == NULL)
            text_addf(&repairs, "%s%s", repairs.length > 0 ? " " : "",
                      t.sources[0].repairs[i].code);
    assert_string_equal(errors.s, c->errors);
    assert_string_equal(repairs.s, c->repairs);
    if (c->table != NULL)
        assert_string_equal(case_dump(a, &t, false), c->table);
    const struct source *s = &t.sources[0];
    assert_int_equal(s->rows_read, s->rows_used + s->rows_left_out);
    assert_int_equal(s->rows_read, s->n_records);
    arena_free(a);
}

int main(void)
{
    static struct CMUnitTest tests[PL_COUNT(cases)];
    for (size_t i = 0; i < PL_COUNT(cases); i++)
        tests[i] = (struct CMUnitTest){.name = cases[i].name,
                                       .test_func = is_read,
                                       .initial_state = (void *)(uintptr_t)&cases[i]};
    return _cmocka_run_group_tests("table", tests, PL_COUNT(tests), NULL, NULL);
}
