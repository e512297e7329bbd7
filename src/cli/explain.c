/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "commands.h"
#include "explain_words.h"

/* One thing that has a name. */
struct entry {
    const char *word;
    const char *kind;    /* "doubt of gate-freeze", "criterion" */
    const char *meaning; /* paragraphs; NULL when there is none */
    const char *remedy;
};

struct entries {
    struct arena *arena;
    struct entry *items;
    size_t n, capacity;
};

static void add(struct entries *l, const char *word, const char *kind, const char *meaning,
                const char *remedy)
{
    *ARENA_PUSH(l->arena, l->items, l->n, l->capacity) =
        (struct entry){word, kind, meaning, remedy};
}

/* ---- gathering ------------------------------------------------------------------------------ */

static void add_flags(struct entries *l, const char *owner, const struct flag_spec *flags, size_t n)
{
    for (size_t i = 0; i < n; i++)
        add(l, flags[i].code,
            arena_printf(l->arena, "%s, flag of %s", flag_grade_text(flags[i].grade), owner),
            flags[i].meaning, flags[i].remedy);
}

const char *criterion_text(struct arena *a, const struct criterion_spec *c)
{
    const char *origin = c->origin == 'C'   ? "common practice, no published source"
                         : c->origin == 'S' ? "a standard"
                                            : "a convention of this program";
    return arena_printf(a, "%s Default: %s (%s).", c->meaning, c->wording, origin);
}

static const char *bars_to_commas(struct arena *a, const char *s)
{
    struct text t;
    text_init(&t, a);
    for (; *s != '\0'; s++)
        if (*s == '|')
            text_add(&t, ", ");
        else
            text_add_char(&t, *s);
    return t.s;
}

/* With a capital at its head and a full stop behind it. */
static void add_sentence(struct text *t, const char *s)
{
    if (s[0] == '\0')
        return;
    text_add_char(t, s[0] >= 'a' && s[0] <= 'z' ? (char)(s[0] - 'a' + 'A') : s[0]);
    text_add(t, s + 1);
    if (t->s[t->length - 1] != '.')
        text_add_char(t, '.');
}

static const char *column_text(struct arena *a, const struct column_spec *c)
{
    struct text t;
    text_init(&t, a);
    add_sentence(&t, c->purpose);
    if (c->dimension == DIM_TEXT)
        text_add(&t, " Text.");
    else if (dimension_unit(c->dimension)[0] != '\0' && c->dimension != DIM_RATIO)
        text_addf(&t, " A %s, in one of: %s.", dimension_name(c->dimension),
                  unit_accepted(c->dimension));
    else
        text_addf(&t, " A %s.", dimension_name(c->dimension));
    text_add(&t, c->flags & COLUMN_REQUIRED ? " The study needs it." : " It may stay out.");
    if (c->synonyms != NULL && c->synonyms[0] != '\0')
        text_addf(&t, " Also understood: %s.", bars_to_commas(a, c->synonyms));
    return t.s;
}

static const char *study_text(struct arena *a, const struct study *s)
{
    struct text t;
    text_init(&t, a);
    add_sentence(&t, s->purpose);
    text_addf(&t, " Its table is %s.csv, with the columns ", s->name);
    for (size_t i = 0; i < s->n_columns; i++)
        text_addf(&t, "%s%s%s", i > 0 ? ", " : "", s->columns[i].name,
                  s->columns[i].flags & COLUMN_REQUIRED ? " (needed)" : "");
    text_add(&t, ".");
    return t.s;
}

static void add_study(struct entries *l, const struct study *s)
{
    add(l, s->name, "study", study_text(l->arena, s), NULL);
    add_flags(l, s->name, s->flags, s->n_flags);
    for (size_t i = 0; i < s->n_columns; i++)
        add(l, s->columns[i].name, arena_printf(l->arena, "column of %s.csv", s->name),
            column_text(l->arena, &s->columns[i]), NULL);
}

static void add_keys(struct entries *l)
{
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    for (size_t i = 0; i < n; i++)
        if (strchr(keys[i].key, '*') == NULL)
            add(l, keys[i].key, arena_printf(l->arena, "key of [%s] in trial.ini", keys[i].section),
                arena_printf(l->arena, "%s For example: %s = %s", keys[i].purpose, keys[i].key,
                             keys[i].example),
                NULL);
}

/* Columns that every table may have; the reader adds them to each. */
static void add_shared_columns(struct entries *l)
{
    static const char *const columns[][2] = {
        {"cavity", "The number of the cavity a value belongs to, where each cavity of a shot has a "
                   "row of its own."},
        {"defect", "What was seen on the part, in your own words. Empty, ok, none, good and - mean "
                   "that nothing was seen."},
        {"exclude", "Leaves a shot out. Empty, no, n, 0 and false keep it; yes, y, x, 1 and true "
                    "leave it out without a reason, which is a doubt; any other text leaves it out "
                    "and is recorded as the reason. The shot stays visible in the report."},
        {"excluded_by", "Who left the shot out."},
        {"note", "A remark on the shot, in your own words; it changes nothing."},
        {"shot", "The number of the shot. Where it is given it is the order in time, whatever the "
                 "order of the rows."},
    };
    for (size_t i = 0; i < PL_COUNT(columns); i++)
        add(l, columns[i][0], "column of every table", columns[i][1], NULL);
}

static int compare_entries(const void *a, const void *b)
{
    const struct entry *x = a, *y = b;
    int order = strcmp(x->word, y->word);
    return order != 0 ? order : strcmp(x->kind, y->kind);
}

static struct entries gather(struct arena *a)
{
    struct entries l = {.arena = a};
    size_t n;
    const struct study *const *studies = study_all(&n);
    for (size_t i = 0; i < n; i++)
        add_study(&l, studies[i]);
    const struct flag_spec *flags = finding_flags(&n);
    add_flags(&l, "every study", flags, n);
    flags = study_flags(&n);
    add_flags(&l, "every study", flags, n);
    flags = window_flags(&n);
    add_flags(&l, "the window", flags, n);
    const struct criterion_spec *criteria = cli_criteria(a, &n);
    for (size_t i = 0; i < n; i++)
        add(&l, criteria[i].name, "criterion", criterion_text(a, &criteria[i]), NULL);
    const struct code_text *codes = read_codes(&n);
    for (size_t i = 0; i < n; i++)
        add(&l, codes[i].code, "message about an input file", codes[i].meaning, codes[i].remedy);
    add_keys(&l);
    add_shared_columns(&l);
    const struct explain_word *words = explain_words(&n);
    for (size_t i = 0; i < n; i++)
        add(&l, words[i].word, words[i].kind, words[i].meaning, words[i].remedy);
    qsort(l.items, l.n, sizeof *l.items, compare_entries);
    return l;
}

/* ---- saying --------------------------------------------------------------------------------- */

static void add_list(struct text *t, const struct entries *l)
{
    size_t widest = 0;
    for (size_t i = 0; i < l->n; i++)
        if (strlen(l->items[i].word) > widest)
            widest = strlen(l->items[i].word);
    for (size_t i = 0; i < l->n; i++)
        text_addf(t, "%-*s  %s\n", (int)widest, l->items[i].word, l->items[i].kind);
}

/* "not shown" as it stands in the report: words here have no blanks. */
static const char *without_blanks(struct arena *a, const char *word)
{
    char *out = arena_printf(a, "%s", word);
    for (char *p = out; *p != '\0'; p++)
        if (*p == ' ')
            *p = '-';
    return out;
}

static bool add_matching(struct text *t, const struct entries *l, const char *word, int width)
{
    word = without_blanks(l->arena, word);
    bool found = false;
    for (size_t i = 0; i < l->n; i++) {
        const struct entry *x = &l->items[i];
        if (!text_same_word(x->word, word))
            continue;
        text_addf(t, "%s%s: %s\n\n", found ? "\n" : "", x->word, x->kind);
        if (x->meaning != NULL)
            text_add_wrapped(t, x->meaning, 0, 0, width);
        if (x->remedy != NULL && x->remedy[0] != '\0') {
            text_add(t, "\nWhat to do: ");
            text_add_wrapped(t, x->remedy, 12, 0, width);
        }
        found = true;
    }
    return found;
}

static enum errc unknown_word(struct arena *a, const struct entries *l, const char *word,
                              struct error *e)
{
    const char **words = ARENA_ARRAY(a, const char *, l->n);
    for (size_t i = 0; i < l->n; i++)
        words[i] = l->items[i].word;
    const char *near = text_nearest(word, words, l->n);
    word = cli_quote(a, word);
    if (near != NULL)
        return ERR_SET(e, ERR_USAGE, "nothing is called '%s'; did you mean '%s'?", word, near);
    return ERR_SET(e, ERR_USAGE, "nothing is called '%s'; 'plateau explain' lists what there is",
                   word);
}

int command_explain(struct invocation *inv)
{
    struct entries l = gather(inv->arena);
    struct error e = {.code = ERR_NONE};
    struct text t;
    text_init(&t, inv->arena);
    if (inv->argument == NULL)
        add_list(&t, &l);
    else if (!add_matching(&t, &l, inv->argument, terminal_width(inv->out)) &&
             unknown_word(inv->arena, &l, inv->argument, &e) != ERR_NONE)
        return cli_fail(inv, &e);
    cli_print(inv, &t);
    return 0;
}
