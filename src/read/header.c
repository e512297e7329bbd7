/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A header is tried in this order, and the first way that gives a name of ours is taken: as it
 * stands; without its unit; without its cavity; and the same once more without the words
 * "hydraulic" or "melt". */
#include <string.h>

#include "fold.h"
#include "header.h"
#include "limits.h"
#include "units.h"

/* ---- names -------------------------------------------------------------------------------------
 */

static const struct want_name *find_name(const struct wants *w, const char *folded)
{
    const struct want_name *found = NULL;
    for (size_t i = 0; i < w->n_names; i++)
        if (w->names[i].folded[0] == folded[0] && strcmp(w->names[i].folded, folded) == 0 &&
            (found == NULL || w->names[i].mapped))
            found = &w->names[i];
    return found;
}

/* The name without commas, colons and the like left hanging at its ends. */
static void tidy(const char **s, size_t *n)
{
    while (*n > 0 && strchr(" ,;:/_-", (*s)[*n - 1]) != NULL)
        (*n)--;
    while (*n > 0 && strchr(" ,;:/_-", **s) != NULL)
        (*s)++, (*n)--;
}

static bool is_word(const char *s, size_t n, const char *const *words, size_t n_words)
{
    for (size_t i = 0; i < n_words; i++)
        if (strlen(words[i]) == n && memcmp(words[i], s, n) == 0)
            return true;
    return false;
}

/* ---- cavities ----------------------------------------------------------------------------------
 */

#define MOST_WORDS 12

struct word {
    const char *s;
    size_t n;
    bool glued; /* to the word before it */
};

static size_t split_words(const char *s, struct word words[MOST_WORDS])
{
    size_t n = 0;
    while (*s != '\0') {
        size_t length = strcspn(s, " ~");
        if (n == MOST_WORDS)
            return 0;
        words[n] = (struct word){s, length, n > 0 && s[-1] == '~'};
        n++;
        s += length + (s[length] != '\0');
    }
    return n;
}

static int cavity_number(const struct word *w)
{
    int v = 0;
    for (size_t i = 0; i < w->n; i++) {
        if (w->s[i] < '0' || w->s[i] > '9' || i > 3)
            return 0;
        v = v * 10 + (w->s[i] - '0');
    }
    return v <= LIMIT_CAVITIES ? v : 0;
}

static bool is_cavity_word(const struct word *w)
{
    static const char *const words[] = {"cavity",   "cav",  "c",      "cavitynr",
                                        "cavityno", "nest", "kavitat"};
    return is_word(w->s, w->n, words, PL_COUNT(words));
}

static bool is_number_word(const struct word *w)
{
    static const char *const words[] = {"no", "nr", "number"};
    return is_word(w->s, w->n, words, PL_COUNT(words));
}

/* Cuts the cavity off: words [*from, *to) are left for the name. 0: there is none. */
static int cut_cavity(const struct word *w, size_t n, size_t *from, size_t *to)
{
    *from = 0;
    *to = n;
    if (n == 0)
        return 0;
    int last = cavity_number(&w[n - 1]);
    if (last > 0) {
        size_t k = n - 1;
        if (k > 0 && is_number_word(&w[k - 1]) && k > 1 && is_cavity_word(&w[k - 2]))
            k--;
        if (k > 0 && is_cavity_word(&w[k - 1])) {
            *to = k - 1;
            return last;
        }
        if (k == n - 1 && k > 0 && !w[k].glued) { /* weight_1 */
            *to = k;
            return last;
        }
    }
    if (n >= 3 && is_cavity_word(&w[0]) && cavity_number(&w[1]) > 0) { /* c1 weight */
        *from = 2;
        return cavity_number(&w[1]);
    }
    return 0;
}

/* `cavity 1 [g]`: the one column that has a value per cavity, the needed one before others, of
 * the unit's dimension where there is one. */
static const struct want *only_per_cavity(const struct wants *w, const struct unit *u)
{
    for (int needed = 1; needed >= 0; needed--) {
        const struct want *found = NULL;
        size_t n = 0;
        for (size_t i = 0; i < w->n; i++) {
            const struct column_spec *s = w->items[i].spec;
            bool fits = (s->flags & COLUMN_PER_CAVITY) != 0 &&
                        (!needed || (s->flags & COLUMN_REQUIRED) != 0) &&
                        (u == NULL || u->dimension == s->dimension);
            found = fits ? &w->items[i] : found;
            n += fits;
        }
        if (n > 0)
            return n == 1 ? found : NULL;
    }
    return NULL;
}

static bool match_cavity(struct arena *a, const struct wants *w, const char *name, size_t n,
                         const struct unit *u, struct header_name *out)
{
    struct word words[MOST_WORDS];
    const char *folded = fold_words(a, name, n);
    size_t count = split_words(folded, words), from, to;
    int cavity = cut_cavity(words, count, &from, &to);
    if (cavity == 0)
        return false;
    if (from == to) {
        const struct want *only = only_per_cavity(w, u);
        out->cavity = cavity;
        out->want = only;
        out->other_name = true;
        out->cavity_without_name = only == NULL;
        return only != NULL;
    }
    struct text base;
    text_init(&base, a);
    for (size_t i = from; i < to; i++)
        text_add_n(&base, words[i].s, words[i].n);
    const struct want_name *found = find_name(w, base.s);
    if (found == NULL || !(w->items[found->want].spec->flags & COLUMN_PER_CAVITY))
        return false;
    out->want = &w->items[found->want];
    out->mapped = found->mapped;
    out->other_name = !found->own;
    out->cavity = cavity;
    return true;
}

static bool match_name(struct arena *a, const struct wants *w, const char *name, size_t n,
                       const struct unit *u, struct header_name *out)
{
    tidy(&name, &n);
    const struct want_name *found = n > 0 ? find_name(w, fold_name(a, name, n)) : NULL;
    if (found != NULL) {
        out->want = &w->items[found->want];
        out->mapped = found->mapped;
        out->other_name = !found->own;
        return true;
    }
    return n > 0 && match_cavity(a, w, name, n, u, out);
}

/* ---- units -------------------------------------------------------------------------------------
 */

struct split {
    const char *name; /* without the unit */
    size_t name_length;
    const char *unit;
    size_t unit_length;
    bool bracket;
};

static bool is_unit(const char *s, size_t n)
{
    const char *question = NULL;
    return unit_find(s, n, &question) != NULL || question != NULL;
}

/* "% of full part" */
static size_t percent_length(const char *s, size_t n)
{
    return n > 1 && s[0] == '%' && s[1] == ' ' ? 1 : n;
}

static void trim(const char **s, size_t *n)
{
    while (*n > 0 && strchr(" ,;", (*s)[*n - 1]) != NULL)
        (*n)--;
    while (*n > 0 && strchr(" ,;", **s) != NULL)
        (*s)++, (*n)--;
}

/* The last bracket whose content is a unit (or, with `any`, whatever it holds). */
static bool split_bracket(struct arena *a, const char *s, bool any, struct split *out)
{
    for (size_t close = strlen(s); close-- > 0;) {
        if (s[close] != ')' && s[close] != ']')
            continue;
        char opener = s[close] == ')' ? '(' : '[';
        size_t open = close;
        int depth = 0;
        for (;; open--) { /* "tons (US)" stands in brackets of its own */
            depth += s[open] == s[close];
            depth -= s[open] == opener;
            if (depth == 0 || open == 0)
                break;
        }
        if (depth != 0)
            continue;
        const char *unit = s + open + 1;
        size_t n = close - open - 1;
        trim(&unit, &n);
        if (!any && !is_unit(unit, percent_length(unit, n)))
            continue;
        char *name = arena_printf(a, "%.*s %s", (int)open, s, s + close + 1);
        *out = (struct split){name, strlen(name), unit, percent_length(unit, n), true};
        return true;
    }
    return false;
}

/* The longest suffix, set off by a blank, `_`, `,` or `/`, that is a unit. */
static bool split_suffix(const char *s, struct split *out)
{
    size_t length = strlen(s);
    for (size_t i = 1; i < length; i++) {
        if (strchr(" _,/", s[i - 1]) == NULL || s[i] == ' ')
            continue;
        if (!is_unit(s + i, length - i))
            continue;
        size_t name = i - 1;
        /* "time in s" */
        while (name > 0 && s[name - 1] == ' ')
            name--;
        if (name > 3 &&
            (memcmp(s + name - 3, " in", 3) == 0 || memcmp(s + name - 3, "_in", 3) == 0))
            name -= 3;
        *out = (struct split){s, name, s + i, length - i, false};
        return true;
    }
    return false;
}

static void set_unit(struct header_name *out, const char *s, size_t n, struct arena *a)
{
    enum dimension d = out->want != NULL ? out->want->spec->dimension : DIM_TEXT;
    struct unit_result r = unit_find_for(d, s, n);
    out->unit = r.unit;
    out->unit_text = arena_copy_n(a, s, n);
    out->question = r.answer == UNIT_ASK ? r.question : NULL;
    out->unit_unknown = r.answer == UNIT_UNKNOWN;
    if (d == DIM_TEXT || (d == DIM_COUNT && r.answer == UNIT_UNKNOWN)) {
        out->unit = NULL; /* `repeat [-]`, `note (free)` */
        out->question = NULL;
        out->unit_unknown = false;
    }
}

/* "Weight min" is the least weight: `min` without a bracket is a unit of times only. */
static bool is_minimum(const struct split *p, const struct want *want)
{
    return !p->bracket && p->unit_length == 3 && memcmp(p->unit, "min", 3) == 0 &&
           want->spec->dimension != DIM_TIME && want->spec->dimension != DIM_AGE;
}

static bool match(struct arena *a, const struct wants *w, const char *s, bool loose,
                  struct header_name *out)
{
    struct split p = {.name = NULL};
    bool split = split_bracket(a, s, false, &p) || split_suffix(s, &p);
    if (match_name(a, w, s, strlen(s), NULL, out)) {
        /* a whole header that [columns] names may hold its unit; `fill` alone holds none */
        if (out->mapped && split && p.bracket)
            set_unit(out, p.unit, p.unit_length, a);
        return true;
    }
    if (split) {
        const struct unit *u = unit_find(p.unit, p.unit_length, NULL);
        if (match_name(a, w, p.name, p.name_length, u, out) && !is_minimum(&p, out->want)) {
            set_unit(out, p.unit, p.unit_length, a);
            return true;
        }
        out->want = NULL;
        out->cavity = 0;
        if (out->cavity_without_name)
            return false;
    }
    if (!split_bracket(a, s, true, &p) || !match_name(a, w, p.name, p.name_length, NULL, out)) {
        out->want = NULL;
        return false;
    }
    set_unit(out, p.unit, p.unit_length, a);
    if (!out->unit_unknown || loose)
        return true;
    out->want = NULL;
    out->cavity = 0;
    out->unit_unknown = false;
    return false;
}

/* ---- hydraulic or melt ---------------------------------------------------------------------- */

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80;
}

/* The header with the word that tells the basis blanked out; NULL when there is none. */
static char *without_basis(struct arena *a, const char *s, enum basis *basis)
{
    static const char *const hydraulic[] = {"hydraulic", "hydr", "hyd"};
    static const char *const melt[] = {"melt", "plastic"};
    char *out = arena_copy(a, s);
    bool found = false;
    for (size_t i = 0; s[i] != '\0';) {
        size_t n = 0;
        char word[16];
        while (is_letter(s[i + n])) {
            if (n < sizeof word - 1)
                word[n] = (char)(s[i + n] >= 'A' && s[i + n] <= 'Z' ? s[i + n] + 32 : s[i + n]);
            n++;
        }
        bool is_hydraulic = n < sizeof word && is_word(word, n, hydraulic, PL_COUNT(hydraulic));
        bool is_melt = n < sizeof word && is_word(word, n, melt, PL_COUNT(melt));
        if (is_hydraulic || is_melt) {
            found = true;
            *basis = is_hydraulic ? BASIS_HYDRAULIC : BASIS_MELT;
            memset(out + i, ' ', n + (s[i + n] == '.'));
        }
        i += n > 0 ? n : 1;
    }
    return found ? out : NULL;
}

void header_read(struct arena *a, const struct wants *w, const char *cell, bool loose,
                 struct header_name *out)
{
    *out = (struct header_name){.unit_text = ""};
    out->shown = fold_line(a, cell, strlen(cell));
    if (out->shown[0] == '\0')
        return;
    enum basis basis = BASIS_NOT_SAID;
    const char *plain = without_basis(a, out->shown, &basis);
    bool ours = match(a, w, out->shown, loose, out);
    if (!ours && plain != NULL) {
        ours = match(a, w, fold_line(a, plain, strlen(plain)), loose, out);
        if (ours && !(out->want->spec->flags & COLUMN_BASIS)) {
            out->want = NULL;
            out->cavity = 0;
            ours = false;
        }
    }
    if (ours && (out->want->spec->flags & COLUMN_BASIS))
        out->basis = basis;
}
