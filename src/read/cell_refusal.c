/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "cell_refusal.h"
#include "number_words.h"

static const struct {
    enum number_answer answer;
    const char *code, *what, *remedy;
} refusals[] = {
    {NUMBER_DATE, "date-in-number", "looks like a date that a spreadsheet made of what was typed",
     "Format the column as text or number before typing, and enter the reading again."},
    {NUMBER_CLOCK, "clock-in-number", "looks like a time of day, or minutes and seconds",
     "Write plain seconds: 83.4 and not 1:23.4."},
    {NUMBER_TWO, "two-numbers", "is more than one number",
     "Write the one reading; for a tolerance or range use a column of its own."},
    {NUMBER_FRACTION, "fraction", "is a fraction",
     "Write the decimal number instead, if that is what was meant."},
    {NUMBER_APPROXIMATE, "approximate", "is marked as approximate",
     "Write the reading alone, and the remark in the `note` column."},
    {NUMBER_BRACKETS, "number-in-brackets", "is a number in brackets or with the sign behind it",
     "Write a negative number with the minus in front; put remarks in the `note` column."},
    {NUMBER_GROUPS, "digits-grouped-oddly", "has marks between its digits that make no number",
     "Write the number with one decimal mark, and without blanks and other marks between its "
     "digits."},
    {NUMBER_INFINITE, "not-finite", "is not a finite number",
     "Write the reading, or leave the cell "
     "empty."},
    {NUMBER_HEX, "not-a-number", "is not a decimal number", "Write the reading in decimal digits."},
    {NUMBER_FORMULA, "formula", "is the text of a formula, not its result",
     "Save the sheet with results instead of formulas."},
    {NUMBER_NO_LIMIT, "limit-without-number", "tells that a limit was passed, but not which",
     "Write the limit: <0.01 or >200."},
    {NUMBER_LINE_BREAK, "line-break-in-number", "has a line break inside",
     "One reading in one cell."},
    {NUMBER_TOO_LONG, "number-too-long", "has more than 40 characters", "Round it."},
    {NUMBER_NOT, "not-a-number", "is not a number",
     "Write the reading; leave the cell empty (or write -) where there is none; put remarks in the "
     "`note` column."},
};

/* ---- both readings, where there are two ------------------------------------------------------ */

/* `1:30`, `0:02.5`, `1:02:30` to numbers; how many, 0 when it is something else. */
static size_t clock_parts(const char *s, unsigned part[3], bool *has_mark)
{
    size_t n = 0;
    *has_mark = false;
    while (n < 3) {
        char *end;
        size_t digits = strspn(s, "0123456789");
        if (digits == 0 || digits > 4)
            return 0;
        part[n++] = (unsigned)strtoul(s, &end, 10);
        s = end;
        if (*s != ':')
            break;
        s++;
    }
    *has_mark = *s == '.' || *s == ',';
    return *s == '\0' || *has_mark ? n : 0;
}

static const char *clock_readings(struct arena *a, const char *s)
{
    unsigned p[3];
    bool has_mark;
    size_t n = clock_parts(s, p, &has_mark);
    if (n == 2 && !has_mark)
        return arena_printf(a, ": %u s as minutes and seconds, %u s as hours and minutes",
                            60 * p[0] + p[1], 3600 * p[0] + 60 * p[1]);
    if (n == 3 && !has_mark)
        return arena_printf(a, ": %u s as hours, minutes and seconds",
                            3600 * p[0] + 60 * p[1] + p[2]);
    return "";
}

static const char *date_readings(struct arena *a, const char *s)
{
    int day, month;
    if (!number_date_parts(s, strlen(s), &day, &month))
        return "";
    return arena_printf(a, "; perhaps %d.%d, %d-%d or %d/%d", day, month, day, month, month, day);
}

struct cell_refusal cell_refusal(struct arena *a, enum number_answer answer, const char *text,
                                 double value)
{
    size_t i = 0;
    while (i + 1 < PL_COUNT(refusals) && refusals[i].answer != answer)
        i++;
    struct cell_refusal out = {refusals[i].code, refusals[i].what, "", refusals[i].remedy};
    if (answer == NUMBER_CLOCK)
        out.more = clock_readings(a, text);
    else if (answer == NUMBER_DATE)
        out.more = date_readings(a, text);
    else if (answer == NUMBER_FRACTION && isfinite(value))
        out.more = arena_printf(a, "; it comes to %.6g", value);
    return out;
}
