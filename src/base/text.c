/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plateau/base.h"

void text_init(struct text *t, struct arena *a)
{
    *t = (struct text){.arena = a, .capacity = 64};
    t->s = arena_alloc(a, t->capacity);
}

static void make_room(struct text *t, size_t more)
{
    if (t->length + more + 1 <= t->capacity)
        return;
    size_t capacity = t->capacity;
    while (capacity < t->length + more + 1)
        capacity *= 2;
    char *s = arena_alloc(t->arena, capacity);
    memcpy(s, t->s, t->length + 1);
    t->s = s;
    t->capacity = capacity;
}

void text_add_n(struct text *t, const char *s, size_t length)
{
    if (length == 0)
        return;
    make_room(t, length);
    memcpy(t->s + t->length, s, length);
    t->length += length;
    t->s[t->length] = '\0';
}

void text_add(struct text *t, const char *s)
{
    text_add_n(t, s, strlen(s));
}

void text_add_char(struct text *t, char c)
{
    text_add_n(t, &c, 1);
}

void text_vaddf(struct text *t, const char *fmt, va_list ap)
{
    va_list again;
    va_copy(again, ap);
    int need = vsnprintf(NULL, 0, fmt, again);
    va_end(again);
    if (need <= 0)
        return;
    make_room(t, (size_t)need);
    vsnprintf(t->s + t->length, (size_t)need + 1, fmt, ap);
    t->length += (size_t)need;
}

void text_addf(struct text *t, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    text_vaddf(t, fmt, ap);
    va_end(ap);
}

void text_clear(struct text *t)
{
    t->length = 0;
    t->s[0] = '\0';
}

void text_add_fixed(struct text *t, double v, int decimals)
{
    if (!isfinite(v)) {
        text_add(t, "-");
        return;
    }
    char s[400];
    snprintf(s, sizeof s, "%.*f", decimals, v);
    /* no "-0.00" */
    const char *p = s;
    if (s[0] == '-' && strspn(s + 1, "0.") == strlen(s + 1))
        p = s + 1;
    text_add(t, p);
}

void text_add_number(struct text *t, double v, int digits)
{
    if (!isfinite(v)) {
        text_add(t, "-");
        return;
    }
    if (v == 0.0) {
        text_add_char(t, '0');
        return;
    }
    char s[64];
    snprintf(s, sizeof s, "%.*e", digits - 1, v);
    int exponent = atoi(strchr(s, 'e') + 1);
    if (exponent < -4 || exponent >= 7 + (digits > 7 ? digits - 7 : 0)) {
        text_add(t, s);
        return;
    }
    int decimals = digits - 1 - exponent;
    text_add_fixed(t, v, decimals > 0 ? decimals : 0);
}

const char *number_text(struct arena *a, double v, int digits)
{
    struct text t;
    text_init(&t, a);
    text_add_number(&t, v, digits);
    return t.s;
}

double round_10(double v)
{
    if (!isfinite(v) || v == 0.0)
        return v == 0.0 ? 0.0 : v;
    char s[64];
    snprintf(s, sizeof s, "%.9e", v);
    return strtod(s, NULL); /* house-rules: reads back our own "%e" */
}

int decimals_for(double half_width)
{
    if (!isfinite(half_width) || half_width <= 0.0)
        return 3;
    int d = 1 - (int)floor(log10(half_width * (1.0 + 1e-12)));
    return d < 0 ? 0 : d > 9 ? 9 : d;
}

size_t utf8_next(const char *s, size_t length, unsigned *cp)
{
    const unsigned char *p = (const unsigned char *)s;
    if (length == 0)
        return 0;
    if (p[0] < 0x80) {
        *cp = p[0];
        return 1;
    }
    size_t n = p[0] >= 0xC2 && p[0] <= 0xDF ? 2 : (p[0] & 0xF0) == 0xE0 ? 3 : 0;
    if (p[0] >= 0xF0 && p[0] <= 0xF4)
        n = 4;
    if (n == 0 || n > length)
        return 0;
    unsigned v = p[0] & (n == 2 ? 0x1Fu : n == 3 ? 0x0Fu : 0x07u);
    for (size_t i = 1; i < n; i++) {
        if ((p[i] & 0xC0) != 0x80)
            return 0;
        v = v << 6 | (p[i] & 0x3Fu);
    }
    if ((n == 3 && v < 0x800) || (n == 4 && (v < 0x10000 || v > 0x10FFFF)) ||
        (v >= 0xD800 && v <= 0xDFFF))
        return 0;
    *cp = v;
    return n;
}

size_t utf8_prefix(const char *s, size_t most)
{
    size_t n = strnlen(s, most + 1);
    if (n <= most)
        return n;
    while (most > 0 && ((unsigned char)s[most] & 0xC0) == 0x80)
        most--;
    return most;
}

static bool is_invisible(unsigned cp)
{
    return (cp >= 0x200B && cp <= 0x200F) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2060 && cp <= 0x2069) || cp == 0xFEFF || cp == 0x061C || cp == 0x180E ||
           cp == 0x2028 || cp == 0x2029 || cp == 0x00AD;
}

size_t utf8_columns(const char *s)
{
    size_t columns = 0, length = strlen(s);
    while (length > 0) {
        unsigned cp = 0;
        size_t n = utf8_next(s, length, &cp);
        if (n == 0) {
            n = 1;
            cp = '?';
        }
        bool combining = (cp >= 0x300 && cp <= 0x36F) || is_invisible(cp);
        bool wide = (cp >= 0x1100 && cp <= 0x115F) || (cp >= 0x2E80 && cp <= 0xA4CF) ||
                    (cp >= 0xAC00 && cp <= 0xD7A3) || (cp >= 0xF900 && cp <= 0xFAFF) ||
                    (cp >= 0xFE30 && cp <= 0xFE6F) || (cp >= 0xFF00 && cp <= 0xFF60) ||
                    (cp >= 0x1F300 && cp <= 0x1FAFF) || (cp >= 0x20000 && cp <= 0x3FFFD);
        columns += combining ? 0 : wide ? 2 : 1;
        s += n;
        length -= n;
    }
    return columns;
}

char *text_harmless(struct arena *a, const char *s, size_t length)
{
    struct text t;
    text_init(&t, a);
    while (length > 0) {
        unsigned cp = 0;
        size_t n = utf8_next(s, length, &cp);
        if (n == 0) {
            text_addf(&t, "\\x%02X", (unsigned)(unsigned char)*s);
            n = 1;
        } else if (cp < 0x20 || cp == 0x7F || (cp >= 0x80 && cp < 0xA0)) {
            text_addf(&t, cp == '\t' ? "\\t" : cp == '\n' ? "\\n" : "\\x%02X", cp);
        } else if (is_invisible(cp)) {
            text_addf(&t, "\\u%04X", cp);
        } else {
            text_add_n(&t, s, n);
        }
        s += n;
        length -= n;
    }
    return t.s;
}

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool text_same_word(const char *a, const char *b)
{
    for (; *a != '\0' && *b != '\0'; a++, b++)
        if (lower(*a) != lower(*b))
            return false;
    return *a == *b;
}

#define NEAREST_LONGEST 64

static size_t edit_distance(const char *a, const char *b)
{
    size_t n = strlen(a), m = strlen(b);
    if (n > NEAREST_LONGEST || m > NEAREST_LONGEST)
        return NEAREST_LONGEST;
    size_t row[NEAREST_LONGEST + 1];
    for (size_t j = 0; j <= m; j++)
        row[j] = j;
    for (size_t i = 1; i <= n; i++) {
        size_t diagonal = row[0];
        row[0] = i;
        for (size_t j = 1; j <= m; j++) {
            size_t above = row[j];
            size_t best = diagonal + (lower(a[i - 1]) != lower(b[j - 1]));
            if (above + 1 < best)
                best = above + 1;
            if (row[j - 1] + 1 < best)
                best = row[j - 1] + 1;
            diagonal = above;
            row[j] = best;
        }
    }
    return row[m];
}

const char *text_nearest(const char *s, const char *const *words, size_t n)
{
    const char *best = NULL;
    size_t least = 1 + strlen(s) / 4;
    for (size_t i = 0; i < n; i++) {
        size_t d = edit_distance(s, words[i]);
        if (d <= least && (best == NULL || d < least)) {
            least = d;
            best = words[i];
        }
    }
    return best;
}
