/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values of trial.ini that are not made of terms: words, sets of cavities, lists of files, an
 * hourly rate.
 */
#include <math.h>
#include <stdint.h>

#include "ini.h"
#include "ini_number.h"
#include "limits.h"

static bool trouble(const struct ini_ask *ask, struct ini_trouble *t, const char *code,
                    const char *message, const char *expected)
{
    *t = (struct ini_trouble){
        .code = code,
        .message = message,
        .expected = expected,
        .remedy = arena_printf(ask->arena, "write for example `%s = %s`", ask->key, ask->example),
        .from = 0,
        .to = strlen(ask->value),
    };
    return false;
}

static const char *harmless(const struct ini_ask *ask)
{
    return text_harmless(ask->arena, ask->value, strlen(ask->value));
}

static struct ini_value text_value(const char *text)
{
    return (struct ini_value){.low = NAN, .high = NAN, .relative = NAN, .text = text};
}

/* ---- names ------------------------------------------------------------------------------------
 */

static size_t next_letter(const char *s, size_t length, size_t at)
{
    while (at < length && (s[at] == ' ' || s[at] == '\t' || s[at] == '_' || s[at] == '-'))
        at++;
    return at;
}

static char small(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

bool ini_same_name_n(const char *a, size_t a_length, const char *b)
{
    size_t n = a_length, m = strlen(b), i = 0, j = 0;
    for (;;) {
        i = next_letter(a, n, i);
        j = next_letter(b, m, j);
        if (i == n || j == m)
            return i == n && j == m;
        if (small(a[i]) != small(b[j]))
            return false;
        i++;
        j++;
    }
}

bool ini_same_name(const char *a, const char *b)
{
    return ini_same_name_n(a, strlen(a), b);
}

/* ---- words ------------------------------------------------------------------------------------
 */

static const char *first_spellings(struct arena *a, const char *words)
{
    struct text t;
    text_init(&t, a);
    while (*words != '\0') {
        size_t n = strcspn(words, "|"), m = strcspn(words, "=|");
        text_add(&t, t.length > 0 ? ", `" : "`");
        text_add_n(&t, words, m);
        text_add_char(&t, '`');
        words += n + (words[n] == '|');
    }
    return t.s;
}

/* "UTF-8=UTF8": does `value` equal one of the spellings of the word at `words`? */
static bool is_word(const char *value, const char *words, size_t n)
{
    for (size_t i = 0; i < n;) {
        size_t m = strcspn(words + i, "=|");
        if (m > 0 && ini_same_name_n(words + i, m, value))
            return true;
        i += m + 1;
    }
    return false;
}

bool ini_read_word(const struct ini_ask *ask, const struct ini_rule *rule, struct ini_value *out,
                   struct ini_trouble *t)
{
    for (const char *w = rule->words; *w != '\0';) {
        size_t n = strcspn(w, "|");
        if (is_word(ask->value, w, n)) {
            *out = text_value(arena_copy_n(ask->arena, w, strcspn(w, "=|")));
            return true;
        }
        w += n + (w[n] == '|');
    }
    return trouble(ask, t, "not-one-of",
                   arena_printf(ask->arena, "`%s` is not a value of %s", harmless(ask), ask->key),
                   first_spellings(ask->arena, rule->words));
}

/* ---- lists ------------------------------------------------------------------------------------
 */

const char **ini_split_list(struct arena *a, const char *s, size_t *n)
{
    const char **items = NULL;
    size_t capacity = 0;
    *n = 0;
    while (*s != '\0') {
        size_t length = strcspn(s, ";"), from = strspn(s, " \t"), to = length;
        while (to > from && (s[to - 1] == ' ' || s[to - 1] == '\t'))
            to--;
        if (to > from + 1 && s[from] == '"' && s[to - 1] == '"') {
            from++;
            to--;
        }
        if (from < to)
            *ARENA_PUSH(a, items, *n, capacity) = arena_copy_n(a, s + from, to - from);
        s += length + (s[length] == ';');
    }
    return items;
}

/* A whole number, and nothing but blanks and commas before it; 0 when there is none. */
static int next_cavity(const char **s)
{
    int v = 0;
    *s += strspn(*s, " \t,");
    while (**s >= '0' && **s <= '9' && v <= LIMIT_CAVITIES)
        v = v * 10 + (*(*s)++ - '0');
    return v;
}

static bool wrong_path(const struct ini_ask *ask, struct ini_trouble *t, const char *message)
{
    return trouble(ask, t, "not-sets-of-cavities", message,
                   "cavity numbers, blanks between them, `;` between the sets");
}

bool ini_read_paths(const struct ini_ask *ask, int cavities, struct ini_value *out,
                    struct ini_trouble *t)
{
    struct arena *a = ask->arena;
    bool seen[LIMIT_CAVITIES + 1] = {false};
    struct text text;
    text_init(&text, a);
    size_t n_sets;
    const char **sets = ini_split_list(a, ask->value, &n_sets);
    for (size_t i = 0; i < n_sets; i++) {
        const char *s = sets[i];
        bool first = true;
        for (; *s != '\0'; s += strspn(s, " \t,"), first = false) {
            int cavity = next_cavity(&s);
            if (cavity < 1 || cavity > LIMIT_CAVITIES || (*s != '\0' && strchr(" \t,", *s) == NULL))
                return wrong_path(ask, t,
                                  arena_printf(a, "`%s` is not a row of cavity numbers",
                                               text_harmless(a, sets[i], strlen(sets[i]))));
            if (cavities > 0 && cavity > cavities)
                return wrong_path(
                    ask, t,
                    arena_printf(a, "cavity %d, but the mold has %d cavities", cavity, cavities));
            if (seen[cavity])
                return wrong_path(ask, t, arena_printf(a, "cavity %d stands twice", cavity));
            seen[cavity] = true;
            text_addf(&text, "%s%d", !first ? " " : i > 0 ? " ; " : "", cavity);
        }
    }
    if (n_sets < 2)
        return wrong_path(ask, t, "there must be two sets or more");
    *out = text_value(text.s);
    return true;
}

/* ---- an amount per hour -----------------------------------------------------------------------
 */

/* Takes "/h", "per hour" and the like off the end of s; false when there is none. */
static bool cut_per_hour(char *s)
{
    static const char *const endings[] = {"/h",     "/hr",      "/hour",  "per h",
                                          "per hr", "per hour", "an hour"};
    size_t n = strlen(s);
    for (size_t i = 0; i < PL_COUNT(endings); i++) {
        size_t m = strlen(endings[i]);
        if (n >= m && text_same_word(s + n - m, endings[i])) {
            s[n - m] = '\0';
            return true;
        }
    }
    return false;
}

static char *trimmed(struct arena *a, const char *s, size_t n)
{
    while (n > 0 && (*s == ' ' || *s == '\t')) {
        s++;
        n--;
    }
    while (n > 0 && (s[n - 1] == ' ' || s[n - 1] == '\t'))
        n--;
    return arena_copy_n(a, s, n);
}

bool ini_read_rate(const struct ini_ask *ask, struct ini_value *out, const char **currency,
                   struct ini_trouble *t)
{
    struct arena *a = ask->arena;
    char *s = trimmed(a, ask->value, strlen(ask->value));
    bool per_hour = cut_per_hour(s);
    size_t at = strcspn(s, "0123456789");
    struct ini_number number = ini_number_read(s + at);
    if (!per_hour || number.answer != INI_NUMBER_OK || (at > 0 && s[at - 1] == '-'))
        return trouble(ask, t, "not-a-rate",
                       arena_printf(a, "`%s` is not an amount per hour", harmless(ask)),
                       "a number, a currency and `/h`");
    const char *before = trimmed(a, s, at);
    const char *after = trimmed(a, s + at + number.length, strlen(s + at + number.length));
    if (before[0] != '\0' && after[0] != '\0')
        return trouble(ask, t, "not-a-rate",
                       arena_printf(a, "`%s` has words on both sides of the number", harmless(ask)),
                       "a number, a currency and `/h`");
    *out = text_value(harmless(ask));
    out->low = out->high = number.value;
    const char *word = before[0] != '\0' ? before : after;
    *currency = text_harmless(a, word, strlen(word));
    return true;
}
