/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "fold.h"

/* Base letters of U+00C0..U+017F; `*`: the character stays as it is. */
static const char base_letters[] =
    "aaaaaa*ceeeeiiiidnooooo*ouuuuy**aaaaaa*ceeeeiiiidnooooo*ouuuuy*y"
    "aaaaaaccccccccddddeeeeeeeeeegggggggghhhhiiiiiiiiii**jjkkkllllllll"
    "llnnnnnn***oooooo**rrrrrrssssssssttttttuuuuuuuuuuuuwwyyyzzzzzzs";
_Static_assert(sizeof base_letters - 1 == 0x180 - 0xC0, "one letter for each code point");

static bool is_invisible(unsigned cp)
{
    return (cp >= 0x200B && cp <= 0x200F) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2060 && cp <= 0x2069) || cp == 0xFEFF || cp == 0x061C || cp == 0x00AD;
}

static bool is_accent(unsigned cp) /* combining: behind its letter */
{
    return cp >= 0x300 && cp <= 0x36F;
}

static bool is_blank(unsigned cp)
{
    return cp == ' ' || (cp >= '\t' && cp <= '\r') || cp == 0xA0 ||
           (cp >= 0x2000 && cp <= 0x200A) || cp == 0x202F || cp == 0x205F || cp == 0x3000;
}

/* One character in lower case without its accent, written to out[4]; returns its bytes. */
static size_t fold_character(unsigned cp, const char *s, size_t size, char out[4])
{
    if (cp >= 'A' && cp <= 'Z') {
        out[0] = (char)(cp - 'A' + 'a');
        return 1;
    }
    if (cp == 0xDF) {
        out[0] = out[1] = 's';
        return 2;
    }
    if (cp >= 0xC0 && cp < 0x180 && base_letters[cp - 0xC0] != '*') {
        out[0] = base_letters[cp - 0xC0];
        return 1;
    }
    memcpy(out, s, size);
    return size;
}

/* The next character that can be seen, or 0 at the end; its bytes in *size. */
static unsigned next_visible(const char *s, size_t length, size_t *i, size_t *size)
{
    while (*i < length) {
        unsigned cp = 0;
        *size = utf8_next(s + *i, length - *i, &cp);
        if (*size == 0) {
            *size = 1;
            cp = 0xFFFD;
        }
        if (!is_invisible(cp))
            return cp;
        *i += *size;
    }
    return 0;
}

char *fold_name(struct arena *a, const char *s, size_t length)
{
    char *out = arena_alloc(a, 2 * length + 1), one[4];
    size_t n = 0, size = 0;
    unsigned cp;
    for (size_t i = 0; (cp = next_visible(s, length, &i, &size)) != 0; i += size) {
        if (is_blank(cp) || cp == '_' || cp == '-' || cp == '.' || is_accent(cp) ||
            (cp >= 0x2010 && cp <= 0x2015))
            continue;
        size_t k = fold_character(cp, s + i, size, one);
        memcpy(out + n, one, k);
        n += k;
    }
    out[n] = '\0';
    return out;
}

enum word_kind { W_OTHER, W_LETTER, W_DIGIT };

static enum word_kind word_kind(unsigned cp)
{
    if (cp >= '0' && cp <= '9')
        return W_DIGIT;
    bool sign = cp < 0xC0 && cp != 0xB5 && cp != 0xAA && cp != 0xBA;
    if ((cp >= 'a' && cp <= 'z') || (cp >= 'A' && cp <= 'Z'))
        return W_LETTER;
    return sign || is_blank(cp) || (cp >= 0x2010 && cp <= 0x206F) ? W_OTHER : W_LETTER;
}

char *fold_words(struct arena *a, const char *s, size_t length)
{
    char *out = arena_alloc(a, 3 * length + 1), one[4];
    size_t n = 0, size = 0;
    enum word_kind before = W_OTHER;
    unsigned cp;
    for (size_t i = 0; (cp = next_visible(s, length, &i, &size)) != 0; i += size) {
        if (is_accent(cp))
            continue;
        enum word_kind kind = word_kind(cp);
        if (kind != W_OTHER) {
            if (n > 0 && before == W_OTHER)
                out[n++] = ' ';
            else if (n > 0 && before != kind)
                out[n++] = '~';
            size_t k = fold_character(cp, s + i, size, one);
            memcpy(out + n, one, k);
            n += k;
        }
        before = kind;
    }
    out[n] = '\0';
    return out;
}

char *fold_line(struct arena *a, const char *s, size_t length)
{
    char *out = arena_alloc(a, length + 1);
    size_t n = 0, size = 0;
    bool blank = false;
    unsigned cp;
    for (size_t i = 0; (cp = next_visible(s, length, &i, &size)) != 0; i += size) {
        if (is_blank(cp)) {
            blank = n > 0;
            continue;
        }
        if (blank)
            out[n++] = ' ';
        blank = false;
        memcpy(out + n, s + i, size);
        n += size;
    }
    out[n] = '\0';
    return out;
}
