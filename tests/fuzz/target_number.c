/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers, against a second reader: the grammar of src/read/number.h as one POSIX regular
 * expression over classes of characters, and strtod on the plain spelling. What our reader
 * accepts must match the expression and give the same double, bit by bit; a cell that is a number
 * from end to end must be accepted. */
#include <math.h>
#include <regex.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "read/number.h"

#define LONGEST 256

/* ---- the second reader ----------------------------------------------------------------------- */

/* The text as one letter a character. */
struct classes {
    char s[LONGEST + 1];
    size_t at[LONGEST + 1]; /* byte of the character; behind the last one the length */
    size_t n;
};

static char class_of(unsigned cp)
{
    if (cp == 0x200B || cp == 0x00AD || cp == 0x061C || cp == 0xFEFF ||
        (cp > 0x200B && cp <= 0x200F) || (cp >= 0x202A && cp <= 0x202E) ||
        (cp >= 0x2060 && cp <= 0x2069))
        return '\0'; /* not seen */
    if (cp == '\t' || cp == 0xA0 || (cp >= 0x2000 && cp <= 0x200A) || cp == 0x202F ||
        cp == 0x205F || cp == 0x3000)
        return ' ';
    if (cp == 0x2019 || cp == 0x02BC)
        return '\'';
    if (cp == 0x2212)
        return '-';
    if ((cp >= 0x2010 && cp <= 0x2013) || cp == 0xFE63 || cp == 0xFF0D)
        return '_';
    if (cp == 0x2264 || cp == 0x2265)
        return cp == 0x2264 ? '{' : '}';
    if (cp == 'E')
        return 'e';
    return cp < 0x80 && strchr("0123456789.,+-e' <>=\n\r", (char)cp) != NULL && cp != 0 ? (char)cp
                                                                                        : 'x';
}

static void classify(const char *s, size_t n, bool swap, struct classes *out)
{
    size_t size;
    out->n = 0;
    for (size_t i = 0; i < n; i += size) {
        unsigned cp = 0xFFFD;
        size = utf8_next(s + i, n - i, &cp);
        size = size > 0 ? size : 1;
        char c = class_of(cp);
        if (c == '\0')
            continue;
        if (swap && (c == '.' || c == ','))
            c = c == '.' ? ',' : '.';
        out->at[out->n] = i;
        out->s[out->n++] = c;
    }
    out->at[out->n] = n;
    out->s[out->n] = '\0';
}

#define BLANKS "[ \n\r]*"
#define GROUPED(mark) "(" mark "[0-9]{3})+"
static const char grammar[] =
    "^" BLANKS "('" BLANKS ")?(<=?|>=?|\\{|\\})?" BLANKS "([+_-] *)?" /* 1, 2, 3 */
    "(([1-9][0-9]{0,2}(" GROUPED(" ") "|" GROUPED("'") "|" GROUPED(
        ",") ")|[0-9]+)"                              /* 4, 5 */
             "(\\.[0-9]+|\\." BLANKS "$)?|\\.[0-9]+)" /* 10 */
             "(e[+-]?[0-9]{1,3})?";                   /* 11 */
enum {
    PART_LIMIT = 2,
    PART_SIGN = 3,
    PART_DIGITS = 4,
    PART_GROUPS = 6,
    PART_EXPONENT = 11,
    PARTS = 12
};

/* The longest number at the front; what is behind it begins at *end (a character). */
struct second {
    char limit; /* '<', '>' or 0 */
    double value;
    int decimals;
    size_t end, characters; /* of the number without its sign */
    bool grouped_exponent;  /* groups of digits and an exponent: no number of the grammar */
};

static int digits_behind_mark(const struct classes *c, const regmatch_t *m)
{
    int n = 0;
    bool behind = false;
    for (regoff_t i = m->rm_so; i < m->rm_eo; i++) {
        n += behind && c->s[i] >= '0' && c->s[i] <= '9';
        behind = behind || c->s[i] == '.';
    }
    return n;
}

static bool read_second(const struct classes *c, struct second *out)
{
    static regex_t re;
    static bool ready;
    if (!ready)
        FUZZ_CHECK(regcomp(&re, grammar, REG_EXTENDED) == 0, "the expression is wrong");
    ready = true;
    regmatch_t m[PARTS];
    if (regexec(&re, c->s, PARTS, m, 0) != 0)
        return false;
    char plain[LONGEST + 2], *p = plain;
    char limit = m[PART_LIMIT].rm_so >= 0 ? c->s[m[PART_LIMIT].rm_so] : '\0';
    if (m[PART_SIGN].rm_so >= 0 && c->s[m[PART_SIGN].rm_so] != '+')
        *p++ = '-';
    for (regoff_t i = m[PART_DIGITS].rm_so; i < m[0].rm_eo; i++)
        if (c->s[i] != '\0' && strchr("0123456789.e+-", c->s[i]) != NULL)
            *p++ = c->s[i];
    *p = '\0';
    int exponent =
        m[PART_EXPONENT].rm_so >= 0 ? (int)strtol(c->s + m[PART_EXPONENT].rm_so + 1, NULL, 10) : 0;
    *out = (struct second){.limit = limit == '{' || limit == '<'   ? '<'
                                    : limit == '}' || limit == '>' ? '>'
                                                                   : '\0',
                           .value = strtod(plain, NULL) + 0.0,
                           .decimals = digits_behind_mark(c, &m[PART_DIGITS]) - exponent,
                           .end = (size_t)m[0].rm_eo,
                           .characters = (size_t)(m[0].rm_eo - m[PART_DIGITS].rm_so),
                           .grouped_exponent =
                               m[PART_GROUPS].rm_so >= 0 && m[PART_EXPONENT].rm_so >= 0};
    return true;
}

/* ---- comparison ------------------------------------------------------------------------------ */

static bool accepted(enum number_answer a)
{
    return a == NUMBER_OK || a == NUMBER_BELOW || a == NUMBER_ABOVE;
}

/* The same text but for invisible characters and blanks at its ends. */
static void check_rest(const char *s, size_t n, const struct classes *c, const struct second *x,
                       const struct number *got)
{
    size_t from = x->end, to = c->n;
    while (from < to && strchr(" \n\r", c->s[from]) != NULL)
        from++;
    while (to > from && strchr(" \n\r", c->s[to - 1]) != NULL)
        to--;
    if (from == to) {
        FUZZ_CHECK(got->rest_length == 0, "'%.*s': text behind the number", (int)n, s);
        return;
    }
    FUZZ_CHECK(got->rest >= s && got->rest + got->rest_length <= s + n && got->rest_length > 0,
               "'%.*s': the text behind the number lies elsewhere", (int)n, s);
    struct classes rest;
    classify(got->rest, got->rest_length, false, &rest);
    size_t a = 0, b = rest.n;
    while (a < b && strchr(" \n\r", rest.s[a]) != NULL)
        a++;
    while (b > a && strchr(" \n\r", rest.s[b - 1]) != NULL)
        b--;
    FUZZ_CHECK(b - a == to - from, "'%.*s': %zu characters behind the number, not %zu", (int)n, s,
               b - a, to - from);
    for (size_t i = 0; i < b - a; i++)
        FUZZ_CHECK(got->rest[rest.at[a + i]] == s[c->at[from + i]],
                   "'%.*s': other text behind the number", (int)n, s);
}

static void check_value(const char *s, size_t n, const struct second *x, const struct number *got)
{
    char power[24];
    FUZZ_CHECK(fuzz_same_double(x->value, got->value), "'%.*s': %.17g, strtod says %.17g", (int)n,
               s, got->value, x->value);
    FUZZ_CHECK(x->decimals == got->decimals, "'%.*s': %d decimals, not %d", (int)n, s,
               got->decimals, x->decimals);
    snprintf(power, sizeof power, "1e%d", -x->decimals);
    FUZZ_CHECK(fuzz_same_double(strtod(power, NULL), got->step), "'%.*s': step %g", (int)n, s,
               got->step);
}

static enum number_answer check_mark(const char *s, size_t n, enum decimal_mark mark)
{
    struct number got;
    struct classes c;
    struct second x;
    enum number_answer a = number_parse(s, n, mark, &got);
    classify(s, n, mark == MARK_COMMA, &c);
    bool found = read_second(&c, &x);
    if (found && x.grouped_exponent) {
        FUZZ_CHECK(!accepted(a), "'%.*s': thousands set off in a number with an exponent", (int)n,
                   s);
        return a;
    }
    if (accepted(a)) {
        FUZZ_CHECK(found, "'%.*s': read as %.17g, but no number of the grammar", (int)n, s,
                   got.value);
        char limit = a == NUMBER_BELOW ? '<' : a == NUMBER_ABOVE ? '>' : '\0';
        FUZZ_CHECK(limit == x.limit, "'%.*s': another limit", (int)n, s);
        check_value(s, n, &x, &got);
        check_rest(s, n, &c, &x, &got);
    } else if (found && strspn(c.s + x.end, " \n\r") == c.n - x.end) {
        bool breaks = strpbrk(c.s, "\n\r") != NULL;
        FUZZ_CHECK(
            a == NUMBER_DATE || a == NUMBER_LINE_BREAK || breaks ||
                (a == NUMBER_INFINITE && isinf(x.value)) ||
                (a == NUMBER_TOO_LONG && (x.characters > NUMBER_LONGEST || n > NUMBER_LONGEST)),
            "'%.*s': answer %d, but it is the number %.17g", (int)n, s, (int)a, x.value);
    }
    return a;
}

static void check_evidence(const char *s, size_t n)
{
    struct number point, comma;
    bool p = accepted(number_parse(s, n, MARK_POINT, &point));
    bool c = accepted(number_parse(s, n, MARK_COMMA, &comma));
    enum number_evidence want = p && c && !fuzz_same_double(point.value, comma.value)
                                    ? EVIDENCE_EITHER
                                : p == c ? EVIDENCE_NONE
                                : p      ? EVIDENCE_POINT
                                         : EVIDENCE_COMMA;
    bool marked = memchr(s, '.', n) != NULL || memchr(s, ',', n) != NULL;
    FUZZ_CHECK(number_evidence(s, n) == (marked ? want : EVIDENCE_NONE), "'%.*s': evidence %d",
               (int)n, s, (int)number_evidence(s, n));
}

void fuzz_run_number(const char *bytes, size_t n)
{
    struct number x;
    struct arena *a = fuzz_begin();
    n = n > LONGEST ? LONGEST : n;
    char *s = arena_alloc(a, n);
    memcpy(s, bytes, n);
    fuzz_make_text(s, n);
    enum number_answer point = check_mark(s, n, MARK_POINT);
    check_mark(s, n, MARK_COMMA);
    FUZZ_CHECK(number_parse(s, n, MARK_NONE_SEEN, &x) == point, "no mark seen is no point");
    if (n > 0)
        check_evidence(s, n);
    FUZZ_CHECK(!number_is_missing(s, n) || !accepted(point), "missing and a number");
    number_is_sheet_error(s, n);
    fuzz_end(a);
}

/* ---- generated inputs ------------------------------------------------------------------------ */

struct pen {
    char *s;
    size_t n, room;
};

static void put(struct pen *p, const char *s)
{
    for (; *s != '\0' && p->n < p->room; s++)
        p->s[p->n++] = *s;
}

static void put_one_of(struct pen *p, uint64_t *random, const char *const *words, size_t n)
{
    put(p, words[fuzz_random_below(random, n)]);
}

static void put_digits(struct pen *p, uint64_t *random, size_t n)
{
    for (size_t i = 0; i < n; i++)
        put(p, (char[]){(char)('0' + fuzz_random_below(random, 10)), '\0'});
}

static void put_integer(struct pen *p, uint64_t *random)
{
    static const char *const marks[] = {" ",           "'", ",", ".", "\xC2\xA0", "\xE2\x80\xAF",
                                        "\xE2\x80\x99"};
    put_digits(p, random, 1 + fuzz_random_below(random, fuzz_random_below(random, 4) ? 3 : 20));
    const char *mark = marks[fuzz_random_below(random, PL_COUNT(marks))];
    for (size_t k = fuzz_random_below(random, 6); k > 3; k--) {
        put(p, mark);
        put_digits(p, random, fuzz_random_below(random, 12) ? 3 : fuzz_random_below(random, 5));
    }
}

/* A number of the grammar more often than not, and its near misses. */
size_t fuzz_generate_number(char *out, size_t room, uint64_t *random)
{
    static const char *const fronts[] = {
        "", "", "", "", " ", "'", "<", ">= ", "\xE2\x89\xA4", "\xE2\x80\x8B", "\t", "(", "~"};
    static const char *const signs[] = {
        "", "", "", "", "-", "+", "- ", "\xE2\x88\x92", "\xE2\x80\x93", "--"};
    static const char *const backs[] = {
        "",  "",   "",   "",  " ", " bar",         "%",   " g", "\302\260C",
        "-", "/2", " 3", "x", ")", "\xE2\x80\x8B", "1/s", ":3"};
    struct pen p = {out, 0, room};
    put_one_of(&p, random, fronts, PL_COUNT(fronts));
    put_one_of(&p, random, signs, PL_COUNT(signs));
    if (fuzz_random_below(random, 16) > 0)
        put_integer(&p, random);
    if (fuzz_random_below(random, 3) > 0) {
        put(&p, fuzz_random_below(random, 2) ? "." : ",");
        put_digits(&p, random, fuzz_random_below(random, fuzz_random_below(random, 4) ? 5 : 18));
    }
    if (fuzz_random_below(random, 4) == 0) {
        put(&p, fuzz_random_below(random, 2) ? "e" : "E");
        static const char *const exponent_signs[] = {"", "-", "+", "\xE2\x88\x92"};
        put_one_of(&p, random, exponent_signs, PL_COUNT(exponent_signs));
        put_digits(&p, random, 1 + fuzz_random_below(random, 3));
    }
    put_one_of(&p, random, backs, PL_COUNT(backs));
    return p.n;
}
