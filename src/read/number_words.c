/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "number.h"
#include "number_words.h"
#include "plateau/base.h"

const char *const number_infinite_words[] = {"inf", "infinity", "\xE2\x88\x9E", NULL};
/* What instruments show when the reading is beyond their range. */
const char *const number_over_words[] = {"ovr",       "over", "ol",  "o.l.",  "overflow",
                                         "overrange", "lod",  "max", "under", NULL};

static const char *const missing_words[] = {
    "-",    "--", "---",  "?",     "n/a",          "na",           "nan",          ".",
    "null", "??", "n.a.", "n. a.", "not measured", "\xE2\x80\x93", "\xE2\x80\x94", NULL};

/* Those that end neither in ! nor in ?. */
static const char *const sheet_errors[] = {"#n/a", "#n/d",   "#n/b",          "#nv",
                                           "#i/t", "#div/0", "#getting_data", NULL};

/* Abbreviations and names of the months in English, German, French, Spanish, Italian, Portuguese,
 * Dutch and Swedish, each with a blank on both sides. */
static const char *const months[12] = {
    " jan january januar janv ene gen gennaio janvier enero januari ",
    " feb february februar f\xC3\xA9vr f\xC3\xA9v fevr fev febrero febbraio februari fevereiro ",
    " mar march m\xC3\xA4r mrz m\xC3\xA4rz mars mrt marzo maart mar\xC3\xA7o ",
    " apr april avr avril abr abril aprile ",
    " may mai maj mag mei maio mayo maggio ",
    " jun june juni juin giu junio giugno junho ",
    " jul july juli juil juillet lug julio luglio julho ",
    " aug august ao\xC3\xBBt aout ago agosto augustus augusti ",
    " sep september sept set septembre septiembre settembre setembro ",
    " oct october okt oktober ott out octobre octubre ottobre outubro ",
    " nov november novembre noviembre novembro ",
    " dec december dez dezember d\xC3\xA9"
    "c dic dicembre diciembre d\xC3\xA9"
    "cembre dezembro ",
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same(const char *s, size_t n, const char *word)
{
    if (strlen(word) != n)
        return false;
    for (size_t i = 0; i < n; i++)
        if (lower(s[i]) != word[i])
            return false;
    return true;
}

bool number_word_find(const char *s, size_t n, const char *const *words)
{
    for (; *words != NULL; words++)
        if (same(s, n, *words))
            return true;
    return false;
}

static void trim(const char **s, size_t *n)
{
    for (;;) {
        if (*n > 0 && strchr(" \t\r\n", **s) != NULL && **s != '\0')
            (*s)++, (*n)--;
        else if (*n > 1 && memcmp(*s, "\xC2\xA0", 2) == 0)
            (*s) += 2, (*n) -= 2;
        else
            break;
    }
    for (;;) {
        if (*n > 0 && strchr(" \t\r\n", (*s)[*n - 1]) != NULL && (*s)[*n - 1] != '\0')
            (*n)--;
        else if (*n > 1 && memcmp(*s + *n - 2, "\xC2\xA0", 2) == 0)
            *n -= 2;
        else
            break;
    }
}

bool number_is_missing(const char *s, size_t n)
{
    trim(&s, &n);
    return n == 0 || (n <= 12 && number_word_find(s, n, missing_words));
}

/* "Err:502", "Fehler:502", "Erreur :502" */
static bool is_numbered_error(const char *s, size_t n)
{
    static const char *const words[] = {"err",    "fehler", "erreur", "erro", "error",
                                        "errore", "fout",   "fel",    NULL};
    if (n < 7 || s[n - 4] != ':' || s[n - 3] != '5' || !is_digit(s[n - 2]) || !is_digit(s[n - 1]))
        return false;
    n -= 4;
    trim(&s, &n);
    return number_word_find(s, n, words);
}

/* "#DIV/0!", "#NAMN?", "#VÄRDEFEL!": one word in capitals between the hash and ! or ?, in whatever
 * language the spreadsheet speaks. */
static bool is_shouted_error(const char *s, size_t n)
{
    if (n < 4 || n > 24 || s[0] != '#' || (s[n - 1] != '!' && s[n - 1] != '?'))
        return false;
    size_t letters = 0;
    for (size_t i = 1; i + 1 < n; i++) {
        if (s[i] >= 'a' && s[i] <= 'z')
            return false;
        letters += is_letter(s[i]);
        if (!is_letter(s[i]) && s[i] != '/' && s[i] != '0' && s[i] != '_')
            return false;
    }
    return letters >= 2;
}

bool number_is_sheet_error(const char *s, size_t n)
{
    trim(&s, &n);
    if (is_numbered_error(s, n) || is_shouted_error(s, n))
        return true;
    if (n >= 3 && s[0] == '#' && s[1] == '#') {
        for (size_t i = 0; i < n; i++)
            if (s[i] != '#')
                return false;
        return true; /* a column too narrow to show its value */
    }
    return n >= 3 && s[0] == '#' && number_word_find(s, n, sheet_errors);
}

bool number_starts_approximate(const char *s, size_t n)
{
    static const char *const marks[] = {"~",   "\xE2\x89\x88", "\xC2\xB1", "ca.",
                                        "ca ", "approx",       "about",    "circa"};
    bool has_digit = false;
    for (size_t i = 0; i < n; i++)
        has_digit = has_digit || (s[i] >= '0' && s[i] <= '9');
    for (size_t i = 0; has_digit && i < PL_COUNT(marks); i++)
        if (n > strlen(marks[i]) && same(s, strlen(marks[i]), marks[i]))
            return true;
    return false;
}

/* ---- dates ------------------------------------------------------------------------------------
 */

struct part {
    bool number;
    size_t length;
    char mark; /* in front of it: one of `-./ ` or 0 at the start */
    int month; /* 1 to 12; 0: no month's name */
    const char *s;
};

#define PARTS 4

static char lower_utf8(char c, char before)
{
    /* the capitals of U+00C0..DE are 0x20 below their small letters */
    if (before == '\xC3' && (unsigned char)c >= 0x80 && (unsigned char)c <= 0x9E)
        return (char)((unsigned char)c + 0x20);
    return lower(c);
}

/* 1 to 12; 0: no month's name. */
static int month_of(const char *s, size_t n)
{
    char word[18] = " ";
    if (n == 0 || n + 3 > sizeof word || memchr(s, ' ', n) != NULL)
        return 0;
    for (size_t i = 0; i < n; i++)
        word[i + 1] = lower_utf8(s[i], i > 0 ? s[i - 1] : '\0');
    memcpy(word + n + 1, " ", 2);
    for (int m = 0; m < 12; m++)
        if (strstr(months[m], word) != NULL)
            return m + 1;
    return 0;
}

/* Splits at marks into at most PARTS parts; 0 when it cannot be a date. A time of day behind it
 * (`T` or a blank, digits, colon) is not looked at. */
static size_t split_date(const char *s, size_t n, struct part parts[PARTS])
{
    size_t k = 0, i = 0;
    char mark = '\0';
    while (i < n) {
        size_t from = i;
        bool digits = s[i] >= '0' && s[i] <= '9';
        while (i < n && (digits ? s[i] >= '0' && s[i] <= '9' : is_letter(s[i])))
            i++;
        if (digits && i < n && s[i] == ':')
            return k >= 2 && (mark == ' ' || mark == 'T') ? k : 0;
        if (!digits && i == from + 1 && (s[from] == 'T' || s[from] == 't')) {
            mark = 'T';
            continue;
        }
        if (i == from || k == PARTS || (!digits && k > 0 && mark == '\0'))
            return 0;
        parts[k++] = (struct part){digits, i - from, mark,
                                   digits ? 0 : month_of(s + from, i - from), s + from};
        for (mark = '\0'; i < n && strchr("-./ ,", s[i]) != NULL && s[i] != '\0'; i++)
            if (mark == '\0' || mark == ' ')
                mark = s[i];
    }
    return k;
}

/* A month and a day with the signs behind them as they are written in Japan and China, with a
 * year in front or without. */
static bool is_date_in_signs(const char *s, size_t n, int *day, int *month)
{
    static const char *const signs[] = {"\xE5\xB9\xB4", "\xE6\x9C\x88", "\xE6\x97\xA5"};
    int value[3] = {0, 0, 0};
    for (size_t k = 0, i = 0; k < PL_COUNT(signs); k++) {
        size_t from = i;
        int v = 0;
        while (i < n && i < from + 4 && is_digit(s[i]))
            v = v * 10 + (s[i++] - '0');
        if (i == from || n - i < 3 || memcmp(s + i, signs[k], 3) != 0) {
            if (k > 0)
                return false;
            i = from; /* no year */
            continue;
        }
        value[k] = v;
        i += 3;
        if (k + 1 == PL_COUNT(signs) && i < n)
            return false;
    }
    *month = value[1];
    *day = value[0] > 0 ? 0 : value[2]; /* with a year it was no number that somebody typed */
    return true;
}

bool number_is_date(const char *s, size_t n)
{
    struct part p[PARTS];
    int day, month;
    trim(&s, &n);
    if (is_date_in_signs(s, n, &day, &month))
        return true;
    if (n < 4 || n > 40)
        return false;
    size_t k = split_date(s, n, p);
    if (k == 2 && p[0].number != p[1].number) /* 2-Jan, Jan 02 */
        return (p[0].month > 0 && p[1].length <= 4) || (p[1].month > 0 && p[0].length <= 4);
    if (k < 3 || k > 3 || !p[2].number)
        return false;
    if (p[1].month > 0 || p[0].month > 0)
        return p[0].month > 0 ? p[1].number : p[0].number;
    if (!p[0].number || !p[1].number || p[1].mark != p[2].mark || p[1].mark == ' ' ||
        p[1].mark == ',')
        return false;
    if (p[0].length == 4)
        return p[1].length <= 2 && p[2].length <= 2;
    return p[0].length <= 2 && p[1].length <= 2 && (p[2].length == 2 || p[2].length == 4);
}

bool number_date_parts(const char *s, size_t n, int *day, int *month)
{
    struct part p[PARTS];
    trim(&s, &n);
    if (is_date_in_signs(s, n, day, month))
        return *month >= 1 && *month <= 12 && *day >= 1 && *day <= 31;
    if (!number_is_date(s, n) || split_date(s, n, p) != 2)
        return false;
    const struct part *number = p[0].number ? &p[0] : &p[1];
    if (number->length > 2)
        return false;
    *month = p[0].number ? p[1].month : p[0].month;
    *day = 0;
    for (size_t i = 0; i < number->length; i++)
        *day = *day * 10 + (number->s[i] - '0');
    return true;
}
