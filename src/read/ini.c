/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial.ini -> facts. Keys are looked up in the table of ini_keys.c, the criteria in the request,
 * names of studies and columns in the request's studies.
 */
#include <math.h>

#include "ini_facts.h"
#include "text_decode.h"

/* Columns that every study takes beside its own. */
const char *const ini_common_columns[INI_COMMON_COLUMNS] = {"shot", "exclude", "excluded_by",
                                                            "note", "defect",  "cavity"};

/* ---- messages ---------------------------------------------------------------------------------
 */

static const char *full_key(struct ini_reader *r)
{
    return arena_printf(r->arena, "%s.%s", r->entry->section,
                        text_harmless(r->arena, r->entry->key, strlen(r->entry->key)));
}

static void tell(struct ini_reader *r, enum severity severity, const struct ini_trouble *t,
                 int from, int to)
{
    struct diag_place place = {
        .line = r->entry->line, .column_from = from, .column_to = to, .source = r->entry->source};
    struct diag d = {.severity = severity,
                     .code = t->code,
                     .file = r->file,
                     .column = full_key(r),
                     .message = t->message,
                     .expected = t->expected,
                     .remedy = t->remedy};
    diag_add(r->diags, &d, &place);
}

void ini_value_trouble(struct ini_reader *r, const struct ini_trouble *t)
{
    const struct ini_entry *e = r->entry;
    size_t to = t->to > t->from ? t->to - 1 : t->from;
    tell(r, DIAG_ERROR, t, ini_column(e->raw, e->value_at + t->from),
         ini_column(e->raw, e->value_at + to));
}

void ini_key_trouble(struct ini_reader *r, const char *code, const char *message,
                     const char *expected, const char *remedy)
{
    struct ini_trouble t = {code, message, expected, remedy, 0, 0};
    tell(r, DIAG_ERROR, &t, r->entry->key_from, r->entry->key_to);
}

void ini_whole_value_trouble(struct ini_reader *r, const char *code, const char *message,
                             const char *expected, const char *remedy)
{
    struct ini_trouble t = {code, message, expected, remedy, 0, 0};
    tell(r, DIAG_ERROR, &t, r->entry->value_from, r->entry->value_to);
}

static void value_note(struct ini_reader *r, const char *code, const char *message)
{
    struct ini_trouble t = {code, message, NULL, NULL, 0, 0};
    tell(r, DIAG_NOTE, &t, r->entry->value_from, r->entry->value_to);
}

const char *ini_did_you_mean(struct ini_reader *r, const char *name, const char *const *words,
                             size_t n)
{
    const char *near = text_nearest(name, words, n);
    return near != NULL ? arena_printf(r->arena, "did you mean `%s`?", near) : NULL;
}

const char *ini_word_list(struct arena *a, const char *const *words, size_t n)
{
    struct text t;
    text_init(&t, a);
    for (size_t i = 0; i < n; i++)
        text_addf(&t, "%s%s", i > 0 ? ", " : "", words[i]);
    return t.s;
}

/* ---- facts -------------------------------------------------------------------------------------
 */

static struct fact *add_fact(struct ini_reader *r, const char *key, enum fact_kind kind,
                             enum dimension dimension, const struct ini_value *v)
{
    struct fact *f = ARENA_PUSH(r->arena, r->out->items, r->out->n, r->out->capacity);
    *f = (struct fact){
        .section = r->entry->section,
        .key = key,
        .kind = kind,
        .dimension = dimension,
        .low = v->low,
        .high = v->high,
        .relative = v->relative,
        .text = v->text,
        .line = r->entry->line,
        .given = true,
    };
    return f;
}

void ini_add_text(struct ini_reader *r, const char *key, const char *text)
{
    struct ini_value v = {.low = NAN, .high = NAN, .relative = NAN, .text = text};
    add_fact(r, key, FACT_TEXT, DIM_TEXT, &v);
}

struct ini_ask ini_ask_for(struct ini_reader *r, const char *key, const char *example)
{
    /* the key may be of the user's own making, and messages repeat it */
    return (struct ini_ask){r->arena, text_harmless(r->arena, key, strlen(key)), example,
                            r->entry->value};
}

bool ini_is_duplicate(struct ini_reader *r, const char *key)
{
    for (size_t i = 0; i < r->out->n; i++) {
        const struct fact *f = &r->out->items[i];
        if (strcmp(f->section, r->entry->section) != 0 || !ini_same_name(f->key, key))
            continue;
        ini_key_trouble(r, "duplicate-key",
                        arena_printf(r->arena, "`%s` stands on line %ld already", f->key, f->line),
                        NULL, "keep one of the two");
        return true;
    }
    return false;
}

/* ---- keys with a name of their own ------------------------------------------------------------
 */

/* A limit in the unit that was typed. */
static const char *limit_text(struct ini_reader *r, const struct ini_key *k,
                              const struct ini_value *v, double limit)
{
    const struct unit *u = v->unit;
    if (u == NULL)
        return arena_printf(r->arena, "%.10g", limit);
    if (u->dimension != k->dimension) /* a speed in other terms: the limit is in ours */
        return arena_printf(r->arena, "%.10g %s", limit, dimension_unit(k->dimension));
    return arena_printf(r->arena, "%.6g %s", unit_from_canonical(u, limit), u->spelling);
}

static bool in_range(struct ini_reader *r, const struct ini_key *k, const struct ini_value *v)
{
    if (v->low >= k->low && v->high <= k->high)
        return true;
    ini_whole_value_trouble(r, "out-of-range",
                            arena_printf(r->arena, "%s `%s` cannot be meant", k->key, v->text),
                            arena_printf(r->arena, "%s to %s", limit_text(r, k, v, k->low),
                                         limit_text(r, k, v, k->high)),
                            "look at the unit and at the decimal mark");
    return false;
}

/* A speed in cm3/s needs the screw, one in % the press's highest speed. */
static bool convert_speed(struct ini_reader *r, const char *key, struct ini_value *v)
{
    if (v->found == DIM_SPEED)
        return true;
    bool share = v->found == DIM_RATIO;
    double screw = facts_number(r->out, "press", "screw_diameter", NAN);
    double most = facts_number(r->out, "press", "max_injection_speed", NAN);
    double factor = share ? most : 4.0 / (3.14159265358979323846 * screw * screw);
    if (isnan(factor) || (share && strcmp(key, "max_injection_speed") == 0)) {
        ini_whole_value_trouble(
            r, "speed-needs-press",
            arena_printf(r->arena, "a speed in %s needs [press] %s", share ? "%" : "cm3/s",
                         share ? "max_injection_speed" : "screw_diameter"),
            unit_accepted(DIM_SPEED),
            share ? "give [press] max_injection_speed in mm/s, or this speed in mm/s"
                  : "give [press] screw_diameter, or this speed in mm/s");
        return false;
    }
    v->low *= factor;
    v->high *= factor;
    v->found = DIM_SPEED;
    return true;
}

static void read_plain_quantity(struct ini_reader *r, const struct ini_key *k)
{
    struct ini_ask ask = ini_ask_for(r, k->key, k->example);
    const struct ini_rule *rule = ini_rule_find(k->section, k->key);
    struct ini_value v;
    struct ini_trouble t;
    bool ok = k->kind == FACT_RANGE ? ini_read_range(&ask, k->dimension, &v, &t)
                                    : ini_read_quantity(&ask, k->dimension, &v, &t);
    if (!ok) {
        ini_value_trouble(r, &t);
        return;
    }
    if ((k->dimension == DIM_SPEED && !convert_speed(r, k->key, &v)) || !in_range(r, k, &v))
        return;
    if (rule != NULL && rule->whole && v.low != floor(v.low)) {
        ini_whole_value_trouble(r, "not-a-whole-number",
                                arena_printf(r->arena, "`%s` is not a whole number", v.text),
                                "a whole number", "write it without a fraction");
        return;
    }
    if (v.note != NULL)
        value_note(r, "number-repaired", v.note);
    add_fact(r, k->key, k->kind, k->dimension, &v);
}

static void read_press_rate(struct ini_reader *r, const struct ini_key *k)
{
    struct ini_ask ask = ini_ask_for(r, k->key, k->example);
    struct ini_value v;
    struct ini_trouble t;
    const char *currency;
    if (!ini_read_rate(&ask, &v, &currency, &t)) {
        ini_value_trouble(r, &t);
        return;
    }
    if (!in_range(r, k, &v))
        return;
    add_fact(r, k->key, k->kind, k->dimension, &v);
    /* the word behind the amount is the currency where no key gives one */
    if (currency[0] != '\0' && facts_find(r->out, "economics", "currency") == NULL)
        ini_add_text(r, "currency", currency);
}

static void read_text_key(struct ini_reader *r, const struct ini_key *k)
{
    struct ini_ask ask = ini_ask_for(r, k->key, k->example);
    const struct ini_rule *rule = ini_rule_find(k->section, k->key);
    const char *value = r->entry->value;
    struct ini_value v;
    struct ini_trouble t;
    if (rule != NULL && rule->words != NULL) {
        if (!ini_read_word(&ask, rule, &v, &t))
            ini_value_trouble(r, &t);
        else
            ini_add_text(r, k->key, v.text);
    } else if (strcmp(k->key, "equal_paths") == 0) {
        int cavities = (int)facts_number(r->out, "mold", "cavities", 0.0);
        if (!ini_read_paths(&ask, cavities, &v, &t))
            ini_value_trouble(r, &t);
        else
            ini_add_text(r, k->key, v.text);
    } else {
        ini_add_text(r, k->key, text_harmless(r->arena, value, strlen(value)));
    }
}

/* ---- [dimensions], [criteria] -----------------------------------------------------------------
 */

static void read_dimension(struct ini_reader *r, const struct ini_key *k)
{
    struct ini_ask ask = ini_ask_for(r, r->entry->key, k->example);
    struct ini_value v;
    struct ini_trouble t;
    for (size_t i = 0; i < PL_COUNT(ini_common_columns); i++)
        if (ini_same_name(r->entry->key, ini_common_columns[i])) {
            ini_key_trouble(
                r, "name-is-taken",
                arena_printf(r->arena, "`%s` is the name of a column that every study has",
                             ini_common_columns[i]),
                "another name for the characteristic", "call it otherwise, here and in the files");
            return;
        }
    if (!ini_read_limits(&ask, &v, &t)) {
        ini_value_trouble(r, &t);
        return;
    }
    if (v.note != NULL)
        value_note(r, "number-repaired", v.note);
    add_fact(r, text_harmless(r->arena, r->entry->key, strlen(r->entry->key)), FACT_LIMITS, v.found,
             &v);
}

static const struct criterion_spec *criterion_find(const struct read_request *q, const char *name)
{
    for (size_t i = 0; i < q->n_criteria; i++)
        if (ini_same_name(q->criteria[i].name, name))
            return &q->criteria[i];
    return NULL;
}

static void unknown_criterion(struct ini_reader *r)
{
    const struct read_request *q = r->request;
    const char **names = ARENA_ARRAY(r->arena, const char *, q->n_criteria);
    for (size_t i = 0; i < q->n_criteria; i++)
        names[i] = q->criteria[i].name;
    const char *known = ini_word_list(r->arena, names, q->n_criteria);
    const char *key = text_harmless(r->arena, r->entry->key, strlen(r->entry->key));
    if (ini_is_criterion_word(r->entry->key))
        ini_key_trouble(
            r, "criterion-not-used",
            arena_printf(r->arena, "no study of this version uses the criterion `%s`", key), known,
            "take the line out: it would decide nothing");
    else
        ini_key_trouble(r, "unknown-key",
                        arena_printf(r->arena, "`%s` is not a key of [criteria]", key), known,
                        ini_did_you_mean(r, r->entry->key, names, q->n_criteria));
}

static void read_criterion(struct ini_reader *r)
{
    const struct criterion_spec *spec = criterion_find(r->request, r->entry->key);
    if (spec == NULL) {
        unknown_criterion(r);
        return;
    }
    struct ini_ask ask = ini_ask_for(r, spec->name, spec->wording);
    struct ini_value v;
    struct ini_trouble t;
    if (ini_is_duplicate(r, spec->name))
        return;
    if (!ini_read_criterion(&ask, spec, &v, &t)) {
        ini_value_trouble(r, &t);
        return;
    }
    if (v.note != NULL)
        value_note(r, "number-repaired", v.note);
    add_fact(r, spec->name, FACT_QUANTITY, spec->dimension, &v)->origin = spec->origin;
}

/* ---- all keys ---------------------------------------------------------------------------------
 */

static const struct ini_key *key_find(const char *section, const char *key)
{
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(keys[i].section, section) == 0 && ini_same_name(keys[i].key, key))
            return &keys[i];
    return NULL;
}

static void unknown_key(struct ini_reader *r)
{
    size_t n_keys, n = 0;
    const struct ini_key *keys = ini_keys(&n_keys);
    const char **names = ARENA_ARRAY(r->arena, const char *, n_keys);
    const char *elsewhere = NULL;
    for (size_t i = 0; i < n_keys; i++) {
        if (strcmp(keys[i].section, r->entry->section) == 0)
            names[n++] = keys[i].key;
        else if (ini_same_name(keys[i].key, r->entry->key))
            elsewhere = keys[i].section;
    }
    const char *remedy = ini_did_you_mean(r, r->entry->key, names, n);
    if (remedy == NULL && elsewhere != NULL)
        remedy = arena_printf(r->arena, "it belongs in [%s]", elsewhere);
    ini_key_trouble(r, "unknown-key",
                    arena_printf(r->arena, "`%s` is not a key of [%s]",
                                 text_harmless(r->arena, r->entry->key, strlen(r->entry->key)),
                                 r->entry->section),
                    ini_word_list(r->arena, names, n), remedy);
}

static void read_named(struct ini_reader *r, const struct ini_key *k)
{
    if (ini_is_duplicate(r, k->key))
        return;
    if (strcmp(k->key, "press_rate") == 0)
        read_press_rate(r, k);
    else if (k->kind == FACT_TEXT)
        read_text_key(r, k);
    else
        read_plain_quantity(r, k);
}

static void read_key(struct ini_reader *r)
{
    const char *section = r->entry->section, *dot = strchr(r->entry->key, '.');
    if (r->entry->value[0] == '\0') {
        value_note(r, "empty-value", "no value: read as not given");
        return;
    }
    const struct ini_key *k = key_find(section, r->entry->key);
    if (strcmp(section, "dimensions") == 0) {
        if (!ini_is_duplicate(r, r->entry->key))
            read_dimension(r, key_find(section, "*"));
    } else if (strcmp(section, "criteria") == 0) {
        read_criterion(r);
    } else if (strcmp(section, "studies") == 0) {
        ini_read_study_files(r);
    } else if (strcmp(section, "columns") == 0 || strcmp(section, "units") == 0) {
        ini_read_column_key(r, dot);
    } else if (strcmp(section, "files") == 0 && dot != NULL) {
        ini_read_study_dialect(r, dot);
    } else if (strcmp(section, "approved") == 0 && dot != NULL) {
        struct ini_key approved;
        if (ini_approved_key(r, dot, &approved))
            read_named(r, &approved);
    } else if (k == NULL || strcmp(k->key, "*") == 0) {
        unknown_key(r);
    } else {
        read_named(r, k);
    }
}

/* Some keys need others to be known: columns the dimensions, speeds the screw and the highest
 * speed, sets of cavities their number, the rate the currency. */
static int turn_of(const struct ini_entry *e)
{
    if (strcmp(e->section, "approved") == 0 || strcmp(e->section, "columns") == 0 ||
        strcmp(e->section, "units") == 0)
        return 2;
    if (ini_same_name(e->key, "max_injection_speed") || ini_same_name(e->key, "equal_paths") ||
        ini_same_name(e->key, "press_rate"))
        return 1;
    const struct ini_key *k = key_find(e->section, e->key);
    return k != NULL && k->dimension == DIM_SPEED ? 2 : 0;
}

static void sort_by_line(struct facts *f)
{
    for (size_t i = 1; i < f->n; i++) {
        struct fact x = f->items[i];
        size_t j = i;
        for (; j > 0 && f->items[j - 1].line > x.line; j--)
            f->items[j] = f->items[j - 1];
        f->items[j] = x;
    }
}

void ini_default_facts(struct arena *a, const struct read_request *q, struct facts *out)
{
    for (size_t i = 0; i < q->n_criteria; i++) {
        const struct criterion_spec *s = &q->criteria[i];
        if (facts_find(out, "criteria", s->name) != NULL)
            continue;
        struct fact *f = ARENA_PUSH(a, out->items, out->n, out->capacity);
        *f = (struct fact){.section = "criteria",
                           .key = s->name,
                           .kind = FACT_QUANTITY,
                           .dimension = s->dimension,
                           .low = s->absolute,
                           .high = s->absolute,
                           .relative = s->relative,
                           .text = s->wording,
                           .origin = s->origin};
    }
}

/* How the file was read, where something was assumed. */
static void note_decoding(struct ini_reader *r, const struct decoded *text)
{
    struct diag_place place = {.line = text->note_lines[0]};
    struct diag d = {
        .severity = DIAG_NOTE, .code = text->note_code, .file = r->file, .message = text->note};
    if (text->note != NULL)
        diag_add(r->diags, &d, &place);
    place.line = text->stray_lines[0];
    d.code = "stray-bytes";
    d.message =
        "some bytes are no UTF-8 in a file that otherwise is; each is shown as \xEF\xBF\xBD";
    d.remedy = "save the file as UTF-8";
    if (text->strays > 0)
        diag_add(r->diags, &d, &place);
}

enum errc facts_load_bytes(struct arena *a, const char *name, const void *bytes, size_t n_bytes,
                           const struct read_request *request, struct facts *out,
                           struct diag_list *diags, struct error *e)
{
    (void)e; /* what is wrong with the file lands in diags */
    *out = (struct facts){.file = arena_copy(a, name)};
    struct ini_reader r = {a, out->file, request, out, diags, NULL};
    struct ini_entries entries;
    struct decoded text;
    if (text_decode(a, out->file, bytes, n_bytes, NULL, &text, diags)) {
        note_decoding(&r, &text);
        ini_read_lines(a, out->file, text.s, text.length, &entries, diags);
        for (int turn = 0; turn < 3; turn++)
            for (size_t i = 0; i < entries.n; i++)
                if (turn_of(&entries.items[i]) == turn) {
                    r.entry = &entries.items[i];
                    read_key(&r);
                }
        sort_by_line(out);
    }
    ini_default_facts(a, request, out);
    return ERR_NONE;
}
