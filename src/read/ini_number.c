/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "ini_number.h"
#include "number.h"

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static size_t digits_at(const char *s)
{
    return strspn(s, "0123456789");
}

/* Bytes of a mark that stands between thousands only: blanks, apostrophes. */
static size_t grouping_at(const char *s)
{
    static const char *const marks[] = {" ", "\xC2\xA0",    "\xE2\x80\x89", "\xE2\x80\xAF",
                                        "'", "\xE2\x80\x99"};
    for (size_t i = 0; i < PL_COUNT(marks); i++)
        if (strncmp(s, marks[i], strlen(marks[i])) == 0)
            return strlen(marks[i]);
    return 0;
}

/* A minus sign of Unicode is one; an en dash is read as one and listed. */
static size_t sign_at(const char *s, bool *dash)
{
    *dash = strncmp(s, "\xE2\x80\x93", 3) == 0;
    if (*s == '+' || *s == '-')
        return 1;
    return *dash || strncmp(s, "\xE2\x88\x92", 3) == 0 ? 3 : 0;
}

/* "e3", "E-05", and no letter behind: "2e3 bar", but not the e of "2each". */
static size_t exponent_at(const char *s)
{
    if (*s != 'e' && *s != 'E')
        return 0;
    size_t n = s[1] == '+' || s[1] == '-' ? 2 : 1, digits = digits_at(s + n);
    char behind = s[n + digits];
    bool letter = (behind >= 'a' && behind <= 'z') || (behind >= 'A' && behind <= 'Z');
    return digits == 0 || letter ? 0 : n + digits;
}

/* The digits with their marks: how many bytes, how many digits, how many marks of each kind. */
struct extent {
    size_t length, digits, points, commas, groups;
};

static struct extent find_extent(const char *s)
{
    struct extent e = {.length = digits_at(s)};
    e.digits = e.length;
    for (;;) {
        const char *p = s + e.length;
        size_t blank = grouping_at(p), mark;
        if ((*p == '.' || *p == ',') && is_digit(p[1])) {
            e.points += *p == '.';
            e.commas += *p == ',';
            mark = 1;
        } else if (blank > 0 && e.points + e.commas == 0 && digits_at(p + blank) == 3 &&
                   e.digits > 0 && (e.groups > 0 || e.digits <= 3)) {
            e.groups++;
            mark = blank;
        } else {
            return e;
        }
        size_t n = digits_at(p + mark);
        e.length += mark + n;
        e.digits += n;
    }
}

struct ini_number ini_number_read(const char *s)
{
    struct ini_number out = {.answer = INI_NUMBER_NONE};
    bool dash;
    size_t sign = sign_at(s, &dash), from = sign;
    while (sign > 0 && s[from] == ' ') /* "+ 0.05" */
        from++;
    struct extent e = find_extent(s + from);
    if (e.digits == 0)
        return out;
    out.length = from + e.length;
    enum decimal_mark mark = MARK_POINT;
    switch (number_evidence(s + from, e.length)) {
    case EVIDENCE_NONE:
    case EVIDENCE_POINT:
        break;
    case EVIDENCE_COMMA:
        mark = MARK_COMMA;
        break;
    case EVIDENCE_EITHER:
        if (e.commas == 0) /* a single dot is the decimal point of this file */
            break;
        out.answer = INI_NUMBER_TWO_READINGS;
        return out;
    }
    out.length += exponent_at(s + out.length);
    struct number number;
    if (number_parse(s + from, out.length - from, mark, &number) != NUMBER_OK ||
        number.rest_length > 0)
        return out;
    out.answer = INI_NUMBER_OK;
    out.value = sign > 0 && *s != '+' ? -number.value : number.value;
    out.repaired = dash || e.commas > 0 || e.groups > 0 || e.points > 1;
    out.decimals = number.decimals > 0 ? number.decimals : 0;
    return out;
}
