/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "plateau/base.h"

#define KINDS_PER_FILE 50

void diag_init(struct diag_list *l, struct arena *a)
{
    *l = (struct diag_list){.arena = a};
}

static bool same_text(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static void count_kind(struct diag_list *l, enum severity s)
{
    if (s == DIAG_ERROR)
        l->errors++;
    else if (s == DIAG_WARNING)
        l->warnings++;
    else
        l->notes++;
}

void diag_add(struct diag_list *l, const struct diag *d, const struct diag_place *place)
{
    struct diag *kept = NULL;
    size_t kinds = 0;
    for (size_t i = 0; i < l->n && kept == NULL; i++) {
        if (!same_text(l->items[i].file, d->file))
            continue;
        kinds += l->items[i].severity == DIAG_ERROR;
        if (same_text(l->items[i].code, d->code) && same_text(l->items[i].column, d->column) &&
            l->items[i].severity == d->severity)
            kept = &l->items[i];
    }
    if (kept == NULL) {
        count_kind(l, d->severity);
        if (d->severity == DIAG_ERROR && kinds >= KINDS_PER_FILE)
            return;
        kept = ARENA_PUSH(l->arena, l->items, l->n, l->capacity);
        *kept = (struct diag){
            .severity = d->severity,
            .code = arena_copy(l->arena, d->code),
            .file = arena_copy(l->arena, d->file),
            .column = arena_copy(l->arena, d->column),
            .message = arena_copy(l->arena, d->message),
            .expected = arena_copy(l->arena, d->expected),
            .remedy = arena_copy(l->arena, d->remedy),
        };
    }
    if (place != NULL && kept->count < PL_COUNT(kept->places)) {
        kept->places[kept->count] = *place;
        kept->places[kept->count].source = arena_copy(l->arena, place->source);
    }
    kept->count++;
}

void diag_address(char out[16], long column, long row)
{
    char letters[8];
    size_t n = 0;
    for (long c = column; c > 0 && n < sizeof letters; c = (c - 1) / 26)
        letters[n++] = (char)('A' + (c - 1) % 26);
    size_t k = 0;
    while (n > 0)
        out[k++] = letters[--n];
    snprintf(out + k, 16 - k, "%ld", row);
}
