/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * [approved]: what the record of an earlier trial gave, carried into a short one. The keys are
 * NAME.PART: a setting or a response, and what the record says of it. */
#include "ini_facts.h"

#define ANY                                                                                        \
    1e12 /* what a record holds was read or computed once: only its dimension is checked           \
          */

static const struct {
    const char *name;
    enum dimension dimension;
} names[] = {
    {"clamp_force", DIM_FORCE},
    {"closed_time", DIM_TIME},
    {"cooling_time", DIM_TIME},
    {"cushion", DIM_LENGTH},
    {"fill_time", DIM_TIME},
    {"hold_pressure", DIM_PRESSURE},
    {"hold_time", DIM_TIME},
    {"injection_speed", DIM_SPEED},
    {"melt_temperature", DIM_TEMPERATURE},
    {"mold_temperature", DIM_TEMPERATURE},
    {"part_weight", DIM_MASS},
    {"peak_pressure", DIM_PRESSURE},
    {"transfer_pressure", DIM_PRESSURE},
};

static const struct {
    const char *part;
    enum fact_kind kind;
} parts[] = {
    {"aim", FACT_QUANTITY},       {"alarm", FACT_RANGE},   {"expected", FACT_QUANTITY},
    {"expected_from", FACT_TEXT}, {"high", FACT_QUANTITY}, {"high_from", FACT_TEXT},
    {"high_kind", FACT_TEXT},     {"high_why", FACT_TEXT}, {"interval", FACT_RANGE},
    {"low", FACT_QUANTITY},       {"low_from", FACT_TEXT}, {"low_kind", FACT_TEXT},
    {"low_why", FACT_TEXT},       {"verdict", FACT_TEXT},
};

static void unknown(struct ini_reader *r, const char *what, size_t length)
{
    const char *words[PL_COUNT(names) + PL_COUNT(parts)];
    size_t n = 0;
    bool of_name = what == r->entry->key;
    for (size_t i = 0; of_name && i < PL_COUNT(names); i++)
        words[n++] = names[i].name;
    for (size_t i = 0; !of_name && i < PL_COUNT(parts); i++)
        words[n++] = parts[i].part;
    const char *word = arena_copy_n(r->arena, what, length);
    ini_key_trouble(r, "unknown-key",
                    arena_printf(r->arena, "`%s` is not a %s of [approved]",
                                 text_harmless(r->arena, word, length),
                                 of_name ? "setting or response" : "part of a key"),
                    ini_word_list(r->arena, words, n), ini_did_you_mean(r, word, words, n));
}

bool ini_approved_key(struct ini_reader *r, const char *dot, struct ini_key *out)
{
    size_t length = (size_t)(dot - r->entry->key);
    for (size_t i = 0; i < PL_COUNT(names); i++) {
        if (!ini_same_name_n(r->entry->key, length, names[i].name))
            continue;
        for (size_t k = 0; k < PL_COUNT(parts); k++) {
            if (!ini_same_name(dot + 1, parts[k].part))
                continue;
            *out = (struct ini_key){
                .section = "approved",
                .key = arena_printf(r->arena, "%s.%s", names[i].name, parts[k].part),
                .kind = parts[k].kind,
                .dimension = parts[k].kind == FACT_TEXT ? DIM_TEXT : names[i].dimension,
                .low = -ANY,
                .high = ANY,
                .example = "8.5 s",
            };
            return true;
        }
        unknown(r, dot + 1, strlen(dot + 1));
        return false;
    }
    unknown(r, r->entry->key, length);
    return false;
}
