/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What `explain` says of every message and repair of this room: of CSV files here, of trial.ini and
 * its folder in ini_codes.h. */
#include "ini_codes.h"
#include "plateau/read.h"

#define CODE_ROW(code, meaning, remedy) {code, meaning, remedy},

static const struct code_text codes[] = {
    /* ---- the file as a whole --------------------------------------------------------------------
     */
    {"not-text",
     "The first bytes of the file are those of a workbook, a document, a picture or an archive. "
     "Giving "
     "such a file the name .csv does not turn it into a table of text.",
     "Open it in the program it belongs to and save or export the sheet as CSV, in UTF-8 where "
     "that is "
     "offered."},
    {"nul-bytes",
     "The file holds NUL bytes, which no text has. A reader that stopped there would lose every "
     "row "
     "behind it without a word, so the file is refused.",
     "Export the file again; if it happens again, the disk or the transfer damages it."},
    {"encoding-assumed",
     "The file does not say how its characters are coded, and it is not UTF-8. It was read as the "
     "coding "
     "that its bytes fit: Windows-1252, or UTF-16 without a byte order mark.",
     "Check that degree signs and other special characters look right. Save as UTF-8, or name the "
     "encoding under [files] in trial.ini, and nothing is assumed."},
    {"encoding-not-known",
     "The bytes of the file have no meaning in any of the encodings that can be read.",
     "Save the file again as CSV in UTF-8."},
    {"mixed-encodings",
     "Most of the file is UTF-8, but some bytes are not: text from two programs was pasted "
     "together. In a "
     "header or a number this is an error; in a remark the character is shown as a replacement "
     "sign.",
     "Type the characters again and save the whole file as UTF-8."},
    {"file-cut-off",
     "The file ends in the middle of its last row or of a character: an export that broke off, a "
     "full "
     "disk, a copy that was not finished.",
     "Export or copy the file again, and compare the number of rows."},
    {"file-too-large", "The file is larger than any table of a trial can be.", "Split the file."},
    {"table-too-large",
     "More rows than any lot has shots, or shots times columns that fit in no memory; a wrong "
     "column "
     "of cavity numbers or an export of whole curves does this.",
     "Correct the cavity numbers, split the file, or export one value for each shot."},
    {"empty-file", "The file holds no table: nothing, blank lines or comments only.",
     "Enter the shots, or take the file out of the folder."},
    {"no-rows", "There is a header, and no row below it.",
     "Enter the shots, or take the file out of the folder."},
    {"no-row-used",
     "The table can be read, but every row is left out, each with its reason, or none has a "
     "reading.",
     "Enter the readings that are missing; a blank entry table looks like this too. Take the file "
     "of a "
     "study that was not run out of the folder."},
    {"same-file-twice",
     "Two files of one study hold the same bytes. Counted twice, every shot would look more "
     "certain than "
     "it is.",
     "Take one of the two out of the folder, or out of [studies] in trial.ini."},
    {"files-in-order",
     "A study has several files, and shot numbers do not give one order for all of them. The files "
     "were "
     "taken one after the other, in the order in which they are listed.",
     "List the files in the order in which the shots were made, or number the shots through."},
    {"second-table",
     "Another header stands in the middle of the file: a second table starts there, and its "
     "columns need "
     "not be those of the first.",
     "Put each table into a file of its own."},
    {"transposed",
     "The names of the columns stand below each other: the table has a column for each shot.",
     "Turn the table round, so that each shot is a row, and save it again."},

    /* ---- separators, quotes, cells --------------------------------------------------------------
     */
    {"separator-undecided",
     "Two characters could separate the cells of this file, and both give a table. They are not "
     "counted against each other, because a wrong guess gives wrong numbers.",
     "Name the separator under [files] in trial.ini, or put a line such as `sep=;` on top of the "
     "file."},
    {"separator-line", "The first line, `sep=;` or the like, says what separates the cells.",
     "Nothing to do."},
    {"open-quote",
     "A quote was opened and not closed where its cell should end, so that rows would be "
     "swallowed. The "
     "place is where the quote was opened.",
     "Close or delete the quote. For inches write `in` instead."},
    {"text-after-quote", "There is text between a closing quote and the next separator.",
     "Put the whole cell in quotes, and write quotes inside it twice."},
    {"backslash-quote",
     "A backslash stands before a quote. Some programs mean a quote inside the cell by that, in "
     "CSV it "
     "is the end of the cell.",
     "Write the quote twice instead."},
    {"stray-quote", "A quote stands inside a cell that does not begin with one.",
     "Put the cell in quotes and write the inner quote twice, or delete it. For inches write "
     "`in`."},
    {"typographic-quotes",
     "Curved quotes of a word processor stand around a separator. They are letters to a CSV file, "
     "so the "
     "cell is torn in two.",
     "Replace them by straight quotes; around a word they do no harm."},
    {"cell-too-long", "A cell is longer than 64 KiB. Nearly always a quote was never closed.",
     "Close or delete the quote."},
    {"row-too-long", "A row has more than 4096 cells.",
     "Check what separates the cells of the file."},
    {"too-many-broken-rows",
     "After twenty rows with broken quotes the rest of the file was not looked at.",
     "Mend the first ones; the others often follow from them."},
    {"too-many-cells",
     "A row has more cells than the header, and something stands in them. Dropping them would lose "
     "data; "
     "moving them would put readings under wrong names. Decimal commas in a comma-separated file "
     "do "
     "this.",
     "Save the file with semicolons or with decimal points, or put cells that hold a separator in "
     "quotes."},
    {"torn-decimals",
     "Numbers may have been split at their decimal commas: `10,51` is then two cells, and what "
     "stands behind the comma was taken for the next reading or the remark, or moved every cell "
     "on. Files whose cells commas separate do this, and spreadsheets that take commas for "
     "separators when they open a file with semicolons. The file alone does not tell.",
     "Save the file with semicolons or with decimal points. If a spreadsheet split it, go back to "
     "the file as it was and open it with the semicolon or tab as its only separator."},
    {"too-few-cells", "A row ends before a column that the study needs.",
     "Fill the row up: an empty cell still needs its separator. A line that is no shot gets # in "
     "front."},
    {"short-row",
     "A row ends before its last columns, none of which is needed; spreadsheets drop empty cells "
     "at the "
     "end of a row. They were taken as empty.",
     "Nothing to do."},
    {"value-without-header",
     "Something stands in a column that has no name. A spreadsheet that takes commas for "
     "separators when "
     "it opens a file with decimal commas splits the numbers, and moves every cell to the right.",
     "Give the column a name (`note` for remarks), or empty the cell. Open a file with decimal "
     "commas "
     "with the semicolon or tab as its only separator; a first line `sep=;` sees to that."},
    {"blank-row", "A blank row stands inside the table. It was passed over.",
     "Check that the rows below it belong to the same table."},
    {"hash-row",
     "A row that has all its cells begins with #, as a comment does. It was taken as a comment.",
     "If it is a shot, take the # away or put the first cell in quotes. To leave a shot out, use "
     "the "
     "`exclude` column: then it stays visible."},

    /* ---- header ---------------------------------------------------------------------------------
     */
    {"no-header", "No row of the file names a column of the study.",
     "Write the names above the columns, or say under [columns] in trial.ini what they are called "
     "in "
     "this file."},
    {"missing-column", "A column that the study cannot do without is not there.",
     "Give the column the name in the message, or say under [columns] in trial.ini what it is "
     "called."},
    {"mapped-column-missing", "[columns] in trial.ini names a header that this file does not have.",
     "Write the header as it stands in the file."},
    {"duplicate-column",
     "Two columns have names that mean the same. Whichever were taken, data could be lost.",
     "Rename the one that is not meant. A column for each cavity is written `weight c1`, `weight "
     "c2`."},
    {"other-name",
     "A column has another name than the one used here: one of the names known for it, or the one "
     "that [columns] in trial.ini gives.",
     "Check that it is the column that is meant."},
    {"name-looks-converted",
     "A name of a shot, stage or run looks like what a spreadsheet makes of a name that it takes "
     "for "
     "a number or a date: 9450E9 becomes 9.45E+12, 1-2 becomes 2-Jan. What was typed cannot be "
     "told from it.",
     "Format the column as text before typing, and enter the names again."},
    {"names-nearly-same",
     "A name stands in the table with zeros in front and without: 001 and 1. They were taken as "
     "two "
     "names.",
     "If one thing is meant, write it in one way."},
    {"duplicate-unused", "Two columns that nobody reads have the same name.", "Nothing to do."},
    {"cavity-without-name",
     "A header names a cavity and not what was measured there, and the study has several columns "
     "with a "
     "value for each cavity.",
     "Write the name and the cavity: `weight c1 [g]`."},
    {"long-and-wide",
     "The table has a `cavity` column and columns for single cavities too; only one of the two can "
     "be "
     "meant.",
     "Take the `cavity` column out, or the columns for single cavities."},
    {"header-in-two-rows",
     "The names of the columns only make sense with the row above them, which holds the groups; "
     "the two "
     "were read together.",
     "Check the names in the list of columns."},
    {"header-behind-hash",
     "The header begins with #, as a comment does. It was read as the header.",
     "Nothing to do; without the # there is no doubt."},
    {"header-line-break", "A header has a line break in it. It was read as a blank.",
     "Nothing to do."},
    {"header-repeated",
     "The header stands once more inside the table, as in files put together from several exports.",
     "Check that the parts belong together and that no shot is there twice."},

    /* ---- units ----------------------------------------------------------------------------------
     */
    {"column-without-unit",
     "A quantity has no unit: not in its header, not in a units row, not under [units] and not in "
     "its "
     "cells. Nobody can tell bar from psi or seconds from minutes afterwards, so nothing is "
     "assumed.",
     "Write the unit in the header, `hold_time [s]`, or under [units] in trial.ini."},
    {"units-disagree",
     "Two places give different units for one column: its header, the units row or [units].",
     "Correct or delete one of them."},
    {"unit-in-some-cells",
     "The header has no unit, and only some of the cells have one. Those without could be "
     "anything.",
     "Write the unit in the header."},
    {"unit-from-cells",
     "The header has no unit, but every cell has one, and it was taken from there.",
     "Write the unit in the header; then the cells need none."},
    {"unit-sign-mended",
     "A sign that only looks like one of a unit (the masculine ordinal for the degree sign), or a "
     "pair of signs that comes from a wrong encoding, was read as the sign that was meant.",
     "Nothing to do."},
    {"units-differ-by-file",
     "Two files of a study give one column in different units. Each file was read by its own.",
     "Check that each header is right: a wrong unit there is hard to see in a figure."},
    {"unit-in-cell", "A unit stands behind the number in a cell, the same as that of the column.",
     "Nothing to do."},
    {"unit-converted",
     "A cell has a unit of its own that differs from that of its column; the value was converted.",
     "Check that the unit in the cell is meant."},
    {"pressure-basis-missing",
     "It is not said whether a pressure is hydraulic pressure or melt pressure. The two differ by "
     "the "
     "press's intensification ratio, about ten.",
     "Say it in the header, `transfer pressure hydraulic [bar]`, or for all files in trial.ini: "
     "[press] "
     "pressure_basis = melt, or pressure_basis = hydraulic with intensification_ratio."},
    {"intensification-missing",
     "Hydraulic pressure can be turned into melt pressure only with the press's intensification "
     "ratio.",
     "Take the ratio from the press maker's data and give it in trial.ini: [press] "
     "intensification_ratio = 10.5."},

    /* ---- decimal marks --------------------------------------------------------------------------
     */
    {"decimal-undecided",
     "A number such as `1,234` can be 1.234 or 1234, every number of the file with a mark is of "
     "this kind, and nothing settles it: no other column, no physical range, no other file of the "
     "trial. Semicolons between the cells do not, as they come with both marks. A wrong guess "
     "would "
     "be off by a factor of a thousand.",
     "Put the line `# decimal = comma` or `# decimal = point` above the header, or say `decimal = "
     "comma` or `decimal = point` under [files] in trial.ini."},
    {"marks-of-two-hands",
     "Numbers of one column settle the decimal mark of the file, and in another column every "
     "number "
     "has the other mark before three digits: `2,5` beside `4.203`. Read alike, 4.203 would be "
     "4203; "
     "but it can come from another hand, or from a balance.",
     "Write all numbers with one decimal mark. If thousands are meant, take their marks out, or "
     "put "
     "the line `# decimal = comma` (or point) above the header."},
    {"thousands-out-of-line",
     "In this cell a mark or a blank stands before three digits, as between thousands, and the "
     "number "
     "would be far from all others of its column; with a decimal mark in that place it would be "
     "among them.",
     "Write the number with the decimal mark of the file, or without any mark between thousands."},
    {"decimal-mark-left-out",
     "The other readings of the column, four of five at least, are typed with the same number of "
     "decimals, and this one with none. As it stands it is far from them; with its decimal mark it "
     "would be among them.",
     "Write the number with its decimal mark; if it is right as it is, with zeros behind the "
     "mark."},
    {"unit-out-of-line",
     "Behind the number of this cell stands another unit than that of its column. Converted, the "
     "number would be far from all others; as it stands, without the unit, it would be among them.",
     "Take the unit out of the cell, or correct the number; if both are meant, write the number in "
     "the unit of the column."},
    {"number-for-words",
     "In `exclude` or `defect` stands a number other than 0 and 1: mostly the reading of another "
     "column, because a cell of the row is missing or a separator made two cells of one. Taken as "
     "a "
     "reason, it would leave out a good shot. Whole numbers under `defect` are read where most "
     "rows "
     "have one.",
     "Put the cells of the row back under their headers; where a reason or a defect is meant, "
     "write "
     "it in words."},
    {"decimal-said-for-all",
     "[files] decimal in trial.ini holds for all files, and in this one every number with a mark "
     "has "
     "the other mark before three digits. It can hold thousands, or come from a device with "
     "another "
     "decimal mark.",
     "Say the decimal mark of this file under [files] with the name of its study: "
     "gate-freeze.decimal "
     "= point."},
    {"decimal-line", "A comment line of the file, `# decimal = comma`, says its decimal mark.",
     "Nothing to do."},
    {"decimal-said-twice",
     "Two places give different decimal marks for one file: two lines in it, or a line in it and "
     "[files] in trial.ini.",
     "Take one of them out."},
    {"decimal-from-column",
     "Every number with a mark could be a decimal or a thousand, but a column that no study reads "
     "has a unit and numbers with one reading only. They were typed with the same mark.",
     "Check one number in the list of rows."},
    {"decimal-from-range",
     "The decimal mark was settled by what can be: with the other mark, readings would lie outside "
     "the physical range of their column, far from the part's weight or the limits in trial.ini, "
     "or "
     "beyond what the press can shoot.",
     "Check one number in the list of rows."},
    {"decimal-from-separator",
     "Every number with a mark could be a decimal or a thousand (`4.197`), but the commas of the "
     "file "
     "separate cells: then the point is the decimal mark.",
     "Check one number in the list of rows."},
    {"decimal-from-other-file",
     "The decimal mark was taken from another file of the trial, because this file alone leaves it "
     "open.",
     "Check one number in the list of rows, or say it under [files] in trial.ini."},
    {"mixed-decimal-marks",
     "Some numbers of the file have a decimal comma, others a decimal point: two people typed, or "
     "two "
     "exports were put together.",
     "Correct those typed the other way."},
    {"other-decimal-mark",
     "A number has the mark that is not the decimal mark of this file, as given under [files] or "
     "in "
     "a line `# decimal =` of the file.",
     "Correct the number, or what is given."},

    /* ---- cells ----------------------------------------------------------------------------------
     */
    {"not-a-number", "A word or a number in another notation stands where a reading must be.",
     "Write the reading; leave the cell empty where there is none; put remarks in the `note` "
     "column."},
    {"date-in-number",
     "A spreadsheet turned what was typed into a date: `1-2` became 2-Jan, `3.4` became 03.Apr. "
     "What was "
     "typed is lost.",
     "Format the column as number or text before typing, and enter the reading again from the "
     "notes."},
    {"clock-in-number",
     "A time is written with colons. `1:30` can be a minute and a half or an hour and a half.",
     "Write seconds: 90."},
    {"two-numbers",
     "A cell holds more than one number: a range, a tolerance, two readings. Which one to take is "
     "not for "
     "a program to choose.",
     "Write one reading; give each further one a row or a column."},
    {"fraction", "A cell holds a fraction. Spreadsheets also turn fractions into dates.",
     "Write a decimal number."},
    {"approximate", "A reading is marked as approximate.",
     "Write the reading alone; put the remark in the `note` column."},
    {"number-in-brackets",
     "A number stands in brackets or has its sign behind it. Book-keepers mean a negative number "
     "by "
     "that, most people a remark.",
     "Write a minus in front, or put the remark in the `note` column."},
    {"digits-grouped-oddly",
     "The marks between the digits make no number: there is one decimal mark, a point or a comma "
     "without a blank beside it, and groups between thousands have three digits.",
     "Write the number with one decimal mark, and without blanks and other marks between its "
     "digits."},
    {"not-finite", "A cell holds infinity, or a number too large for any reading.",
     "Write the reading, or leave the cell empty."},
    {"formula", "A cell holds the text of a formula instead of its result.",
     "Save the sheet with the results."},
    {"sheet-error",
     "A spreadsheet wrote an error such as #DIV/0! or #REF! into a cell. In a column the study "
     "needs "
     "that is an error here too, because a broken sheet is not a missing reading; elsewhere it was "
     "read "
     "as an empty cell.",
     "Mend the formula in the sheet and save again, or empty the cell."},
    {"line-break-in-number", "A number's cell has a line break inside.",
     "Write one reading in one cell."},
    {"number-too-long", "A number has more than 40 characters.",
     "Round it to the digits that were read."},
    {"text-behind-number",
     "Text that is no unit stands behind a number. It says something of the reading, so it is not "
     "cut "
     "off without a word.",
     "Put it in the `note` column."},
    {"limit-without-number", "A cell says that a limit was passed (<LOD, >max), but not which.",
     "Write the limit: <0.01 or >200."},
    {"limit-not-accepted",
     "A limit (<0.01, >200) stands where only a reading can be: a setting is known.",
     "Write the setting, or leave the cell empty."},
    {"limit-kept",
     "Readings below or above a limit are kept as what they are. They are listed and drawn as "
     "arrows, "
     "and left out of fits; no number is put in their place.",
     "Nothing to do; a finer instrument would give the reading."},
    {"beyond-press-limit",
     "A pressure is more than 10 % above what the press can make by [press] "
     "max_injection_pressure. "
     "Hydraulic and melt pressure mixed up do this, and psi typed as bar.",
     "Check basis and unit of the column, and the press's limit in trial.ini."},
    {"thousands-marks", "Marks between thousands were dropped.", "Nothing to do."},
    {"bare-decimal-mark", "A number starts or ends with its decimal mark: `.5` was read as 0.5.",
     "Check that no digit was lost."},
    {"leading-apostrophe",
     "An apostrophe in front of a number, a spreadsheet's sign for text, was dropped.",
     "Nothing to do."},
    {"dash-as-minus", "A dash that is no minus sign was read as one.",
     "Check that a negative number is meant."},
    {"invisible-characters",
     "Characters that cannot be seen (zero-width blanks, marks of the writing direction) were "
     "dropped.",
     "Nothing to do; they come from pasting out of web pages and messages."},
    {"no-break-blanks",
     "Blanks that do not break a line (or blanks of other widths) stood around cells and were "
     "dropped. They come from pasting out of web pages and documents.",
     "Nothing to do."},
    {"empty-cell", "Cells of a column of numbers are empty. No reading is put in their place.",
     "Enter the readings if there are any."},
    {"empty-column", "A column has a name and not one value.",
     "Nothing to do; if readings were meant to be there, the export lost them."},
    {"missing-word", "Words for a missing reading (-, n/a, ?, ...) were read as empty cells.",
     "Nothing to do."},
    {"missing-reading",
     "A row has no reading in a column that the study needs. It is left out and listed.",
     "Enter the reading if there is one."},
    {"filled-down",
     "Blank cells below a setting were filled with it, because the column looks like merged cells: "
     "a "
     "value on top of each block. Readings are never filled.",
     "Check the filled cells; they are marked in the list of rows."},

    /* ---- rows -----------------------------------------------------------------------------------
     */
    {"summary-row",
     "An average, total, least or greatest value below the table is not a shot. It was left out.",
     "Nothing to do; take such rows out of the file if you like."},
    {"summary-differs",
     "A row says that it is the average, sum, least or largest value of the rows above, and its "
     "number is another one. Rows were added or corrected after it was computed, or it is about "
     "other rows.",
     "Compare the row with the readings above; one of them may be mistyped."},
    {"summary-without-label",
     "A row has no setting or shot number of its own, and its readings are the averages, sums, "
     "extremes or scatters of the rows above; or the last row holds the averages of all columns. "
     "An "
     "average counted as a shot makes the result look more certain than it is; a shot taken for an "
     "average is lost.",
     "Write `average` or `total` into its first cell, take the row out, or write its setting."},
    {"shot-without-number",
     "A row has a word where all others have the number of the shot: a limit, an average, a "
     "remark.",
     "Give the shot a number; or put # in front of the row, or write `average` into its first "
     "cell."},
    {"shots-with-names",
     "Shots have names, such as `A` or `2b`, in place of plain numbers. Names give no order in "
     "time, so the rows were taken in the order in which they stand.",
     "Nothing to do if the rows stand in the order in which the shots were made; else number "
     "them."},
    {"shot-number-missing",
     "A row has no shot number, and most others have one. It was read as a "
     "shot, in the order of the rows.",
     "Write its number. If it is no shot, put # in front of the row."},
    {"cavities-apart",
     "The table has a row for each cavity and no shot numbers, and no two rows that follow each "
     "other "
     "belong together: it is sorted by cavity. Every row counts as a shot of which one cavity was "
     "measured.",
     "Add a column `shot`, or sort the rows by shot."},
    {"names-below-header",
     "Right below the header stands another row of names, such as the cavities below `weight`. Two "
     "rows are read together only where the upper one does not name all needed columns by itself.",
     "Write the whole names into one row: weight c1 [g], weight c2 [g]."},
    {"cells-shifted",
     "A reading of this row is far from all others of its column. With the cells behind it moved "
     "by "
     "one place, all of them would be among the others: a cell was left out or put in too many.",
     "Put the cells back under their headers. If the row is right and a reading is missing, write "
     "- "
     "into its cell."},
    {"ditto-mark",
     "A sign that means `the same as above` stands in a column of names, where it would be a name "
     "of "
     "its own.",
     "Copy the name down into these cells."},
    {"digits-cut",
     "A number in scientific notation has fewer digits than others of its column. Spreadsheets "
     "show "
     "such numbers with two decimals and export what they show: 1.20E+03 may have been 1204.",
     "Format the column as numbers with all their decimals, and export it again."},
    {"footer", "A line of text below the table was left out.", "Nothing to do."},
    {"decimal-mark-lost",
     "A column holds whole numbers and, a thousand times smaller, numbers with decimals. A "
     "spreadsheet "
     "that is set to the other decimal mark reads 4.203 as 4203 and leaves 4.18 as it is.",
     "Go back to the file as it was, and open it with the decimal mark that it has; or enter the "
     "readings "
     "again."},
    {"decimal-mark-perhaps-lost",
     "All readings of a column are whole numbers of four digits or more, and other columns have "
     "decimals. They may be what they seem. A spreadsheet that is set to the other decimal mark "
     "also "
     "leaves such numbers: it reads 4.203 as 4203, and 6.0 stays as it is.",
     "Compare the figures with the press sheet or the balance. [mold] part_weight in trial.ini "
     "lets the "
     "study compare the weights."},
    {"defect-unclear",
     "The column `defect` holds a word that some spreadsheets write for the truth value `false`, "
     "which would mean good parts, and that also means `wrong`.",
     "Write `no` where the parts are good, else what is wrong with them."},
    {"exclude-unclear",
     "The column `exclude` holds a word that some spreadsheets write for the truth value `false`, "
     "which "
     "would keep the row, and that also means `wrong`, a reason for leaving it out.",
     "Write `no` where the row is to be used, else the reason in more words."},
    {"unreadable-in-excluded-row",
     "A row that you left out has a cell that cannot be read. As nothing is computed from it, that "
     "is no "
     "error.",
     "Nothing to do."},
    {"cavity-left-out",
     "`exclude` leaves out single cavities of a shot; the other cavities of the shot stay.",
     "Nothing to do."},
    {"not-a-cavity", "What stands in the `cavity` column is no number of a cavity.",
     "Number the cavities as the mold does: 1, 2, 3."},
    {"cavity-beyond-mold", "A cavity number is higher than [mold] cavities in trial.ini.",
     "Correct the number, or [mold] cavities."},
    {"shot-twice",
     "One shot number stands in two rows with the same setting and different readings: a shot was "
     "entered twice, a number was mistyped, or the rows are the parts of one shot and a column "
     "that "
     "tells the cavities apart is missing. Counted as two shots they would make the result look "
     "more "
     "certain than it is. Numbers that start again from the first one, block after block, are "
     "taken "
     "as they are.",
     "Correct the number, leave one row out with a reason in `exclude`, or add a `cavity` column."},
    {"rows-out-of-order",
     "The rows do not stand in the order of their shot numbers. The numbers give the order in "
     "time.",
     "Nothing to do if the numbers are right."},
    {"differs-within-shot",
     "The rows of one shot, one for each cavity, give different values of something that a shot "
     "has only "
     "once.",
     "Correct the value, or the shot numbers."},
    {"shot-numbers-repeat",
     "A shot number occurs more than once, so shot numbers cannot give the order in time. The "
     "order of "
     "the rows was taken.",
     "Number the shots through if the rows are not in the order in which the shots were made."},

    READ_INI_CODES(CODE_ROW)};

const struct code_text *read_codes(size_t *n)
{
    *n = PL_COUNT(codes);
    return codes;
}
