/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What `explain` says of the messages about trial.ini and about the trial's folder; read_codes
 * takes them in. Alphabetical.
 */
#ifndef READ_INI_CODES_H
#define READ_INI_CODES_H

/* code, what it means, what to do */
#define READ_INI_CODES(C)                                                                          \
    C("ambiguous-number",                                                                          \
      "A number in trial.ini can be read in two ways: `1,234` is one thousand two hundred and "    \
      "thirty-four to some people and a little more than one to others.",                          \
      "Write a decimal point and no mark between thousands: `1234` or `1.234`.")                   \
    C("cannot-read",                                                                               \
      "A file of the trial could not be opened or read; the system's reason stands behind it.",    \
      "Check that the file is there, that it is a file and not a folder, and that you may read "   \
      "it.")                                                                                       \
    C("criterion-not-used",                                                                        \
      "[criteria] has a key that belongs to a study which this version does not have, so it "      \
      "would decide nothing.",                                                                     \
      "Take the line out, or use a version that has the study.")                                   \
    C("duplicate-key",                                                                             \
      "A key stands twice in one section of trial.ini; which of the two values is meant cannot "   \
      "be known.",                                                                                 \
      "Keep one of the two lines.")                                                                \
    C("empty-value", "A key of trial.ini has no value. It counts as not given.",                   \
      "Give a value, or take the line out.")                                                       \
    C("file-not-read",                                                                             \
      "A CSV file lies in the trial folder, but its name is not that of a study, or [studies] "    \
      "names other files for that study.",                                                         \
      "If it belongs to a study, name it after the study or list it under [studies].")             \
    C("key-outside-section", "A key of trial.ini stands above the first section.",                 \
      "Put the section in brackets on a line above it, for example `[press]`.")                    \
    C("limits-missing",                                                                            \
      "A characteristic in [dimensions] has a nominal value but not both limits. A single "        \
      "tolerance is read differently by different people and is not guessed at.",                  \
      "Give both: `31.20 +0.05 -0.05 mm`, `1.10..1.16 mm`, or one side with `>=` or `<=`.")        \
    C("name-is-taken",                                                                             \
      "A characteristic in [dimensions] has the name of a column that every study has, such as "   \
      "`note` or `defect`.",                                                                       \
      "Give it another name, in trial.ini and in the files.")                                      \
    C("no-equals-sign",                                                                            \
      "A line of trial.ini is neither `key = value` nor a section nor a comment.",                 \
      "Put key and value on one line, or `#` before a remark.")                                    \
    C("no-key", "A line of trial.ini begins with the equals sign.", "Write the key before it.")    \
    C("no-study-files",                                                                            \
      "No file in the folder is named after a study, so there is nothing to analyze.",             \
      "Name each file after its study, or list the files under [studies] in trial.ini.")           \
    C("no-study-in-key",                                                                           \
      "A key of [columns] or [units] does not say to which study's files it belongs.",             \
      "Write the study and a dot before the column: `gate-freeze.hold_time`.")                     \
    C("not-a-csv-file",                                                                            \
      "A workbook, or a table of text whose name does not end in .csv, has the name of a study "   \
      "whose readings are nowhere else: it has no CSV file, or one without readings, such as the " \
      "blank table that was opened and then saved as a workbook. It is not read.",                 \
      "Save the sheet as CSV, or rename the text file, under the name of the study.")              \
    C("not-a-quantity", "A value in trial.ini is not a number with a unit, or has more in it.",    \
      "Write one number and its unit, as in the example of the message.")                          \
    C("not-a-rate", "[economics] press_rate is not an amount of money per hour.",                  \
      "Write for example `press_rate = 45 EUR/h`.")                                                \
    C("not-a-whole-number", "A number that counts something has a fraction.",                      \
      "Give a whole number.")                                                                      \
    C("not-one-of", "A key of trial.ini that takes one of a few words has another one.",           \
      "Use one of the words that the message lists.")                                              \
    C("not-sets-of-cavities", "[mold] equal_paths is not two or more sets of cavity numbers.",     \
      "Write the numbers of one set with blanks, and `;` between the sets: `1 3 ; 2 4`.")          \
    C("number-repaired",                                                                           \
      "A number in trial.ini has a decimal comma, marks between thousands or a dash for a minus "  \
      "sign. It has only one reading and was read so.",                                            \
      "Look at the value as it was read. Nothing need be done.")                                   \
    C("out-of-range",                                                                              \
      "A value lies outside what is physically sensible. The range is wide: a wrong unit or a "    \
      "slipped decimal mark is the usual cause.",                                                  \
      "Look at the unit and at the decimal mark.")                                                 \
    C("path-outside",                                                                              \
      "A file lies outside the trial folder, or a link leads out of it. Only files inside are "    \
      "read, so that a trial can be moved and checked as a whole.",                                \
      "Copy the file into the trial folder and name it from there.")                               \
    C("range-reversed", "A range ends below its start.", "Write the lower value first.")           \
    C("range-with-dash", "A dash between two numbers can be a range or a minus sign.",             \
      "Write two dots between the ends: `200..230 degC`.")                                         \
    C("section-not-closed", "A section of trial.ini has no closing bracket.",                      \
      "Write `]` behind the section's name, and nothing after it.")                                \
    C("speed-needs-press",                                                                         \
      "A speed given as a volume per second needs the screw's diameter, one in % the press's "     \
      "highest speed.",                                                                            \
      "Give [press] screw_diameter or max_injection_speed, or the speed in mm/s.")                 \
    C("stray-bytes",                                                                               \
      "A few bytes of a UTF-8 file belong to another coding; the characters are lost.",            \
      "Save the file as UTF-8 and type the characters again.")                                     \
    C("study-not-in-this-version",                                                                 \
      "A file or a key belongs to a study that this version of the program does not have. The "    \
      "file is not read.",                                                                         \
      "The message lists the studies there are.")                                                  \
    C("too-many-keys", "trial.ini has more keys than any trial needs.",                            \
      "Check that it is the right file.")                                                          \
    C("two-files-for-study",                                                                       \
      "Two files of the folder have names that fit one study; whether one of them or both are "    \
      "meant cannot be known.",                                                                    \
      "Rename one, or list the files under [studies] in trial.ini.")                               \
    C("two-units", "One value has two different units, or a criterion two absolute parts.",        \
      "Write one unit behind the last number.")                                                    \
    C("unit-has-two-readings",                                                                     \
      "A unit has two readings that give different numbers: a ton can be short, long or metric, "  \
      "mPa is millipascal.",                                                                       \
      "Write the unit so that it has one reading; the message says how.")                          \
    C("unit-missing", "A number stands where a quantity with a unit is needed.",                   \
      "Write the unit behind the number; the message lists those accepted.")                       \
    C("unit-not-known", "A unit is not in the program's closed table.",                            \
      "Use one of the units that the message lists.")                                              \
    C("unit-not-wanted", "A unit stands where none, or only %, can be.", "Take the unit out.")     \
    C("unit-of-other-kind",                                                                        \
      "A unit is known but measures something else: a pressure cannot be in mm.",                  \
      "Use one of the units that the message lists.")                                              \
    C("unknown-column", "A key of [columns] or [units] names a column that the study lacks.",      \
      "Use one of the column names that the message lists.")                                       \
    C("unknown-key", "A key of trial.ini is not one of its section.",                              \
      "Use one of the keys that the message lists; look for a slip in the spelling.")              \
    C("unknown-section", "A section of trial.ini is not known; its keys were not read.",           \
      "Use one of the sections that the message lists.")                                           \
    C("unknown-study", "A key of trial.ini names a study that does not exist.",                    \
      "Use one of the studies that the message lists.")

#endif
