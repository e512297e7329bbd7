/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The only place where text becomes a number. The value is made by strtod from a spelling cleaned
 * to [-]digits[.digits][e[-]digits], which is correctly rounded and, as nothing here or elsewhere
 * calls setlocale, always reads a point.
 */
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "number.h"
#include "number_words.h"
#include "plateau/base.h"

/* ---- characters ----------------------------------------------------------------------------- */

enum kind {
    K_END,
    K_DIGIT,
    K_POINT,
    K_COMMA,
    K_BLANK,
    K_APOSTROPHE,
    K_PLUS,
    K_MINUS, /* `-` and U+2212 */
    K_DASH,  /* dashes that are no minus sign */
    K_OTHER
};

struct reader {
    const char *s;
    size_t n, i;
};

static bool is_blank(unsigned cp)
{
    return cp == ' ' || cp == '\t' || cp == 0xA0 || (cp >= 0x2000 && cp <= 0x200A) ||
           cp == 0x202F || cp == 0x205F || cp == 0x3000;
}

static bool is_invisible(unsigned cp)
{
    return (cp >= 0x200B && cp <= 0x200F) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2060 && cp <= 0x2069) || cp == 0xFEFF || cp == 0x061C || cp == 0x00AD;
}

static enum kind kind_of(unsigned cp)
{
    if (cp >= '0' && cp <= '9')
        return K_DIGIT;
    if (is_blank(cp))
        return K_BLANK;
    switch (cp) {
    case '.':
        return K_POINT;
    case ',':
        return K_COMMA;
    case '\'':
    case 0x2019:
    case 0x02BC:
        return K_APOSTROPHE;
    case '+':
        return K_PLUS;
    case '-':
    case 0x2212:
        return K_MINUS;
    case 0x2010:
    case 0x2011:
    case 0x2012:
    case 0x2013:
    case 0xFE63:
    case 0xFF0D:
        return K_DASH;
    default:
        return K_OTHER;
    }
}

/* The character at i; its size in *size. Broken bytes are K_OTHER. */
static enum kind peek(const struct reader *r, size_t i, size_t *size)
{
    unsigned cp = 0;
    *size = 0;
    if (i >= r->n)
        return K_END;
    *size = utf8_next(r->s + i, r->n - i, &cp);
    if (*size == 0) {
        *size = 1;
        return K_OTHER;
    }
    return kind_of(cp);
}

static bool digit_at(const struct reader *r, size_t i)
{
    return i < r->n && r->s[i] >= '0' && r->s[i] <= '9';
}

static size_t digits_from(const struct reader *r, size_t i)
{
    size_t n = 0;
    while (digit_at(r, i + n))
        n++;
    return n;
}

/* ---- the number itself ------------------------------------------------------------------------
 */

struct scan {
    char clean[NUMBER_LONGEST + 16];
    size_t length;
    int decimals;
    unsigned repairs;
    bool bad_marks; /* marks that make no number in this reading */
    bool too_long, too_large;
    size_t end; /* first byte behind the number */
};

static void put(struct scan *c, const char *s, size_t n)
{
    if (c->length + n >= sizeof c->clean - 8) {
        c->too_long = true;
        return;
    }
    memcpy(c->clean + c->length, s, n);
    c->length += n;
    c->clean[c->length] = '\0';
}

/* Integer digits with their groups; returns the place behind them. */
static size_t scan_integer(const struct reader *r, size_t i, enum kind decimal, struct scan *c)
{
    size_t first = digits_from(r, i);
    put(c, r->s + i, first);
    i += first;
    if (first == 0 || first > 3 || c->clean[c->length - first] == '0')
        return i;
    enum kind group = K_END;
    for (;;) {
        size_t size;
        enum kind k = peek(r, i, &size);
        bool may = k == K_BLANK || k == K_APOSTROPHE || k == K_POINT || k == K_COMMA;
        if (!may || k == decimal || (group != K_END && k != group) || digits_from(r, i + size) != 3)
            return i;
        group = k;
        put(c, r->s + i + size, 3);
        i += size + 3;
        c->repairs |= NUMBER_HAD_GROUPS;
    }
}

/* [mark digits] */
static size_t scan_fraction(const struct reader *r, size_t i, enum kind decimal, size_t before,
                            struct scan *c)
{
    size_t size;
    if (peek(r, i, &size) != decimal)
        return i;
    size_t n = digits_from(r, i + 1);
    /* a mark with nothing behind it ends the number only where the cell ends */
    if (n == 0 && (before == 0 || i + 1 < r->n))
        return i;
    if (n == 0 || before == 0)
        c->repairs |= NUMBER_HAD_BARE_MARK;
    if (n > 0) {
        put(c, ".", 1);
        put(c, r->s + i + 1, n);
        c->decimals = n > NUMBER_LONGEST ? NUMBER_LONGEST : (int)n;
    }
    return i + 1 + n;
}

/* [(e|E) [+-] digits], only where nothing but the end, a blank or a bracket follows */
static size_t scan_exponent(const struct reader *r, size_t i, struct scan *c)
{
    size_t at = i + 1, size;
    if (i >= r->n || (r->s[i] != 'e' && r->s[i] != 'E'))
        return i;
    enum kind k = peek(r, at, &size);
    bool minus = k == K_MINUS;
    if (k == K_MINUS || k == K_PLUS)
        at += size;
    size_t n = digits_from(r, at);
    if (n == 0)
        return i;
    if (n > 3) {
        c->too_large = true;
        return at + n;
    }
    put(c, minus ? "e-" : "e", minus ? 2 : 1);
    put(c, r->s + at, n);
    int exponent = 0;
    for (size_t j = 0; j < n; j++)
        exponent = exponent * 10 + (r->s[at + j] - '0');
    c->decimals -= minus ? -exponent : exponent;
    return at + n;
}

/* Unsigned number at r->i. Returns false when no digit stands there. */
static bool scan_number(const struct reader *r, enum kind decimal, struct scan *c)
{
    size_t i = scan_integer(r, r->i, decimal, c);
    size_t before = i - r->i;
    if (before == 0) /* `.5` */
        put(c, "0", 1);
    size_t j = scan_fraction(r, i, decimal, before, c);
    if (before == 0 && j == i)
        return false;
    i = j;
    size_t size;
    enum kind k = peek(r, i, &size);
    if (k == K_POINT || k == K_COMMA || (k == K_APOSTROPHE && digit_at(r, i + size)))
        c->bad_marks = true;
    c->end = scan_exponent(r, i, c);
    /* nobody sets off thousands in a number with an exponent: 1.051e1 has one reading */
    if (c->end > i && (c->repairs & NUMBER_HAD_GROUPS) != 0)
        c->bad_marks = true;
    if (c->end - r->i > NUMBER_LONGEST)
        c->too_long = true;
    return true;
}

/* ---- what stands around it ------------------------------------------------------------------ */

static void trim(struct reader *r)
{
    unsigned cp;
    size_t size;
    while (r->i < r->n && (size = utf8_next(r->s + r->i, r->n - r->i, &cp)) > 0 &&
           (is_blank(cp) || cp == '\n' || cp == '\r'))
        r->i += size;
    for (;;) { /* the last character */
        size_t back = 1;
        if (r->n <= r->i)
            return;
        while (back < 4 && r->n - back > r->i && ((unsigned char)r->s[r->n - back] & 0xC0) == 0x80)
            back++;
        size = utf8_next(r->s + r->n - back, back, &cp);
        if (size != back || (!is_blank(cp) && cp != '\n' && cp != '\r'))
            return;
        r->n -= back;
    }
}

static enum number_answer to_value(const struct scan *c, double *value)
{
    errno = 0;
    *value = strtod(c->clean, NULL);
    return isfinite(*value) ? NUMBER_OK : NUMBER_INFINITE;
}

static void skip_blanks(struct reader *r)
{
    size_t size;
    while (peek(r, r->i, &size) == K_BLANK)
        r->i += size;
}

/* At most nine digits, and the blanks behind them. */
static bool take_whole(struct reader *r, double *value)
{
    size_t n = digits_from(r, r->i);
    *value = 0.0;
    for (size_t i = 0; i < n; i++)
        *value = *value * 10.0 + (r->s[r->i + i] - '0');
    r->i += n;
    skip_blanks(r);
    return n > 0 && n < 10;
}

/* `1/2`, `- 1 3/4`: whole numbers with one stroke, a unit may follow. `11.4 / 11.5` is none. */
static bool take_fraction(struct reader r, double *value)
{
    double whole = 0.0, above, below;
    size_t size;
    bool minus = peek(&r, r.i, &size) == K_MINUS;
    r.i += minus ? size : 0;
    skip_blanks(&r);
    if (!take_whole(&r, &above))
        return false;
    if (digit_at(&r, r.i)) {
        whole = above;
        if (!take_whole(&r, &above))
            return false;
    }
    if (r.i >= r.n || r.s[r.i] != '/')
        return false;
    r.i++;
    skip_blanks(&r);
    if (!take_whole(&r, &below) || !(below > 0.0))
        return false;
    if (r.i < r.n && strchr(".,/+-", r.s[r.i]) != NULL)
        return false;
    *value = (minus ? -1.0 : 1.0) * (whole + above / below);
    return true;
}

/* What the text behind a number makes of it; NUMBER_OK: the caller's business. */
static enum number_answer judge_rest(const char *s, size_t n, bool blank_before)
{
    struct reader r = {s, n, 0};
    size_t size;
    enum kind k = peek(&r, 0, &size);
    bool has_digit = memchr(s, '0', n) != NULL;
    for (size_t i = 0; i < n; i++)
        has_digit = has_digit || digit_at(&r, i);
    if (n >= 1 && (s[0] == 'x' || s[0] == 'X') && has_digit && !blank_before)
        return NUMBER_HEX;
    if (n == 3 && memcmp(s, "1/s", 3) == 0)
        return NUMBER_OK;
    if (k == K_DIGIT)
        return NUMBER_TWO;
    if (k == K_MINUS || k == K_DASH)
        return has_digit ? NUMBER_TWO : NUMBER_BRACKETS;
    if (k == K_PLUS || (size == 2 && memcmp(s, "\xC2\xB1", 2) == 0))
        return NUMBER_TWO;
    if (k == K_POINT || k == K_COMMA)
        return NUMBER_GROUPS;
    if (k == K_APOSTROPHE && digit_at(&r, size))
        return NUMBER_GROUPS;
    if (s[0] == '/' && has_digit)
        return NUMBER_TWO;
    if (s[0] == ':' && has_digit)
        return NUMBER_CLOCK;
    return NUMBER_OK;
}

/* Sign and number at r->i, rest behind; `decimal` is K_POINT or K_COMMA. */
static enum number_answer parse_signed(struct reader r, enum kind decimal, struct number *out)
{
    struct scan c = {.length = 0};
    size_t size;
    enum kind k = peek(&r, r.i, &size);
    if (k == K_MINUS || k == K_DASH) {
        put(&c, "-", 1);
        c.repairs |= k == K_DASH ? NUMBER_HAD_DASH : 0;
    }
    if (k == K_MINUS || k == K_DASH || k == K_PLUS) {
        r.i += size;
        while (peek(&r, r.i, &size) == K_BLANK) /* `- 5` */
            r.i += size;
    }
    if (!scan_number(&r, decimal, &c))
        return NUMBER_NOT;
    struct reader rest = {r.s, r.n, c.end};
    trim(&rest);
    out->rest = rest.s + rest.i;
    out->rest_length = rest.n - rest.i;
    out->repairs |= c.repairs;
    out->decimals = c.decimals;
    if (c.bad_marks)
        return NUMBER_GROUPS;
    if (c.too_long)
        return NUMBER_TOO_LONG;
    if (out->rest_length > 0) {
        enum number_answer a = judge_rest(out->rest, out->rest_length, rest.i > c.end);
        if (a != NUMBER_OK)
            return a;
    }
    if (c.too_large)
        return NUMBER_INFINITE;
    enum number_answer a = to_value(&c, &out->value);
    out->value += 0.0; /* no minus zero */
    char power[24];
    snprintf(power, sizeof power, "1e%d", -out->decimals);
    out->step = strtod(power, NULL);
    return a;
}

/* The reason why no number stands at the front. */
static enum number_answer judge_front(const struct reader *r)
{
    const char *s = r->s + r->i;
    size_t n = r->n - r->i;
    struct reader after = {r->s, r->n, r->i};
    size_t size;
    enum kind k = peek(r, r->i, &size);
    if (k == K_PLUS || k == K_MINUS)
        after.i += size;
    if (number_word_find(r->s + after.i, r->n - after.i, number_infinite_words))
        return NUMBER_INFINITE;
    if (s[0] == '=' || s[0] == '@')
        return NUMBER_FORMULA;
    if ((k == K_PLUS || k == K_MINUS) && n > size) {
        char c = r->s[after.i];
        if (c == '(' || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'))
            return NUMBER_FORMULA;
    }
    if (s[0] == '(') {
        struct reader in = {r->s, r->n, r->i + 1};
        trim(&in);
        if (peek(&in, in.i, &size) == K_PLUS || peek(&in, in.i, &size) == K_MINUS)
            in.i += size;
        return digit_at(&in, in.i) ? NUMBER_BRACKETS : NUMBER_NOT;
    }
    if (number_starts_approximate(s, n))
        return NUMBER_APPROXIMATE;
    if (number_word_find(s, n, number_over_words))
        return NUMBER_NO_LIMIT;
    return NUMBER_NOT;
}

/* Skips `<`, `>`, `<=`, U+2264, U+2265 and blanks; NUMBER_OK when there is none. */
static enum number_answer skip_limit(struct reader *r)
{
    enum number_answer a = NUMBER_OK;
    const char *s = r->s + r->i;
    size_t n = r->n - r->i;
    if (n >= 1 && (s[0] == '<' || s[0] == '>')) {
        a = s[0] == '<' ? NUMBER_BELOW : NUMBER_ABOVE;
        r->i += n >= 2 && s[1] == '=' ? 2 : 1;
    } else if (n >= 3 && (memcmp(s, "\xE2\x89\xA4", 3) == 0 || memcmp(s, "\xE2\x89\xA5", 3) == 0)) {
        a = s[2] == '\xA4' ? NUMBER_BELOW : NUMBER_ABOVE;
        r->i += 3;
    }
    if (a != NUMBER_OK)
        trim(r);
    return a;
}

static enum number_answer parse_visible(struct reader r, enum decimal_mark mark, struct number *out)
{
    trim(&r);
    const char *s = r.s + r.i;
    size_t n = r.n - r.i;
    if (number_is_missing(s, n)) {
        out->repairs |= n > 0 ? NUMBER_HAD_WORD : 0;
        return NUMBER_MISSING;
    }
    if (number_is_sheet_error(s, n))
        return NUMBER_SHEET_ERROR;
    if (memchr(s, '\n', n) != NULL || memchr(s, '\r', n) != NULL)
        return NUMBER_LINE_BREAK;
    size_t size;
    if (peek(&r, r.i, &size) == K_APOSTROPHE && r.i + size < r.n) {
        r.i += size;
        trim(&r);
        out->repairs |= NUMBER_HAD_APOSTROPHE;
    }
    enum number_answer limit = skip_limit(&r);
    if (number_is_date(r.s + r.i, r.n - r.i))
        return NUMBER_DATE;
    if (take_fraction(r, &out->value))
        return NUMBER_FRACTION;
    unsigned repairs = out->repairs;
    enum kind decimal = mark == MARK_COMMA ? K_COMMA : K_POINT;
    enum number_answer a = parse_signed(r, decimal, out);
    if (a == NUMBER_OK)
        return limit == NUMBER_OK ? NUMBER_OK : limit;
    if (a == NUMBER_NOT && limit != NUMBER_OK)
        return NUMBER_NO_LIMIT;
    if (a == NUMBER_NOT || a == NUMBER_GROUPS) {
        struct number other = {.repairs = 0};
        if (parse_signed(r, decimal == K_POINT ? K_COMMA : K_POINT, &other) == NUMBER_OK)
            a = NUMBER_OTHER_MARK;
    }
    out->repairs = repairs;
    return a == NUMBER_NOT ? judge_front(&r) : a;
}

/* ---- what nearly every cell holds --------------------------------------------------------------
 */

#define PLAIN_DIGITS 15 /* whole numbers of so many are exact, and so are their powers of ten */

/* `-12.345`: a minus, digits, a mark, digits, and nothing else. */
struct plain_number {
    bool minus;
    char mark; /* '\0': none */
    size_t before, behind;
    double digits; /* without the mark */
};

static bool take_plain(const char *s, size_t n, struct plain_number *out)
{
    size_t i = n > 0 && s[0] == '-', first = i;
    *out = (struct plain_number){.minus = i > 0};
    for (; i < n; i++) {
        if (s[i] >= '0' && s[i] <= '9') {
            out->digits = out->digits * 10.0 + (s[i] - '0');
            out->before += out->mark == '\0';
            out->behind += out->mark != '\0';
        } else if ((s[i] == '.' || s[i] == ',') && out->mark == '\0' && i > first) {
            out->mark = s[i];
        } else {
            return false;
        }
    }
    return out->before > 0 && out->before + out->behind <= PLAIN_DIGITS &&
           (out->mark == '\0') == (out->behind == 0);
}

/* The other mark could set off thousands. */
static bool is_one_group(const struct plain_number *x, const char *s)
{
    return x->behind == 3 && x->before <= 3 && s[x->minus] != '0';
}

/* The quotient of two numbers that are exact is correctly rounded: the same as strtod makes. */
static bool parse_plain(const char *s, size_t n, enum decimal_mark mark, struct number *out)
{
    static const double power[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                   1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    static const double step[] = {1e0,  1e-1, 1e-2,  1e-3,  1e-4,  1e-5,  1e-6,  1e-7,
                                  1e-8, 1e-9, 1e-10, 1e-11, 1e-12, 1e-13, 1e-14, 1e-15};
    struct plain_number x;
    if (!take_plain(s, n, &x) || (x.mark != '\0' && (x.mark == ',') != (mark == MARK_COMMA)))
        return false;
    double v = x.digits / power[x.behind];
    *out = (struct number){.value = x.minus ? 0.0 - v : v,
                           .step = step[x.behind],
                           .decimals = (int)x.behind,
                           .rest = s + n};
    return true;
}

/* The byte of s that is the k-th one of those that can be seen. */
static size_t seen_at(const char *s, size_t n, size_t k)
{
    size_t seen = 0, size;
    for (size_t i = 0; i < n; i += size) {
        unsigned cp = 0;
        size = utf8_next(s + i, n - i, &cp);
        bool hidden = size > 0 && is_invisible(cp);
        size = size > 0 ? size : 1;
        if (hidden)
            continue;
        if (k < seen + size)
            return i + k - seen;
        seen += size;
    }
    return n;
}

enum number_answer number_parse(const char *s, size_t n, enum decimal_mark mark, struct number *out)
{
    if (parse_plain(s, n, mark, out))
        return NUMBER_OK;
    *out = (struct number){.value = PL_NAN, .step = PL_NAN, .rest = ""};
    size_t i = 0;
    /* Invisible characters are rare: most cells are read where they stand. */
    for (unsigned cp; i < n; i++)
        if ((unsigned char)s[i] >= 0xC2 && utf8_next(s + i, n - i, &cp) > 0 && is_invisible(cp))
            break;
    if (i == n)
        return parse_visible((struct reader){s, n, 0}, mark, out);

    char plain[4 * NUMBER_LONGEST];
    size_t length = 0;
    for (i = 0; i < n;) {
        unsigned cp = 0;
        size_t size = utf8_next(s + i, n - i, &cp);
        if (size == 0)
            size = 1;
        else if (is_invisible(cp)) {
            i += size;
            continue;
        }
        if (length + size > sizeof plain)
            return NUMBER_TOO_LONG;
        memcpy(plain + length, s + i, size);
        length += size;
        i += size;
    }
    enum number_answer a = parse_visible((struct reader){plain, length, 0}, mark, out);
    out->repairs |= NUMBER_HAD_INVISIBLE;
    if (out->rest_length == 0) {
        out->rest = "";
        return a;
    }
    /* The rest must lie in the caller's text; invisible characters inside it stay there. */
    size_t from = (size_t)(out->rest - plain), to = from + out->rest_length;
    size_t begin = seen_at(s, n, from), end = seen_at(s, n, to - 1) + 1;
    out->rest = s + begin;
    out->rest_length = end - begin;
    return a;
}

/* ---- evidence ------------------------------------------------------------------------------- */

static bool is_number(enum number_answer a)
{
    return a == NUMBER_OK || a == NUMBER_BELOW || a == NUMBER_ABOVE;
}

enum number_evidence number_evidence(const char *s, size_t n)
{
    if (memchr(s, '.', n) == NULL && memchr(s, ',', n) == NULL)
        return EVIDENCE_NONE;
    struct plain_number x;
    if (take_plain(s, n, &x))
        return is_one_group(&x, s) ? EVIDENCE_EITHER
               : x.mark == '.'     ? EVIDENCE_POINT
                                   : EVIDENCE_COMMA;
    struct number point, comma;
    bool as_point = is_number(number_parse(s, n, MARK_POINT, &point));
    bool as_comma = is_number(number_parse(s, n, MARK_COMMA, &comma));
    if (as_point && as_comma)
        return point.value < comma.value || point.value > comma.value ? EVIDENCE_EITHER
                                                                      : EVIDENCE_NONE;
    return as_point ? EVIDENCE_POINT : as_comma ? EVIDENCE_COMMA : EVIDENCE_NONE;
}
