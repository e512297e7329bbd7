/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Header cells against the columns of each study; the first byte chooses the study. Also the
 * helpers of src/base that take text from files. */
#include <string.h>

#include "fuzz.h"
#include "read/header.h"
#include "read/limits.h"

static void check_name(const struct wants *w, const struct header_name *h)
{
    FUZZ_CHECK(h->shown != NULL && h->unit_text != NULL, "no text");
    FUZZ_CHECK(h->cavity >= 0 && h->cavity <= LIMIT_CAVITIES, "cavity %d", h->cavity);
    FUZZ_CHECK(h->want == NULL || (h->want >= w->items && h->want < w->items + w->n),
               "a column from elsewhere");
    FUZZ_CHECK(h->cavity == 0 || h->cavity_without_name ||
                   (h->want != NULL && (h->want->spec->flags & COLUMN_PER_CAVITY) != 0),
               "cavity %d of a column that has none", h->cavity);
    FUZZ_CHECK(h->basis == BASIS_NOT_SAID ||
                   (h->want != NULL && (h->want->spec->flags & COLUMN_BASIS) != 0),
               "hydraulic or melt of a column that knows neither");
}

/* What strict reading finds, loose reading finds too. */
static void check_both(struct arena *a, const struct wants *w, const char *cell)
{
    struct header_name strict, loose;
    header_read(a, w, cell, false, &strict);
    header_read(a, w, cell, true, &loose);
    check_name(w, &strict);
    check_name(w, &loose);
    FUZZ_CHECK(strict.want == NULL || strict.want == loose.want, "'%s': loose reading differs",
               cell);
    FUZZ_CHECK(!strict.unit_unknown, "'%s': an unknown unit in strict reading", cell);
}

static void check_text_helpers(struct arena *a, const char *s, size_t n)
{
    const char *safe = text_harmless(a, s, n);
    FUZZ_CHECK(fuzz_is_harmless(safe), "text_harmless left something");
    FUZZ_CHECK(strcmp(text_harmless(a, safe, strlen(safe)), safe) == 0,
               "text_harmless changes what is harmless");
    FUZZ_CHECK(utf8_columns(safe) <= 8 * (n + 1), "too many columns");
    static const char *const words[] = {"hold_time", "weight", "cushion"};
    const char *near = text_nearest(safe, words, PL_COUNT(words));
    FUZZ_CHECK(near == NULL || strlen(near) <= 2 * strlen(safe) + 2, "'%s' is not near '%s'", near,
               safe);
}

static const struct wants *wants_of(size_t study)
{
    static struct wants *all;
    const struct read_request *q = fuzz_request();
    if (all == NULL) {
        struct arena *a = fuzz_kept_arena();
        static const struct facts none;
        all = ARENA_ARRAY(a, struct wants, q->n_studies);
        for (size_t i = 0; i < q->n_studies; i++)
            wants_fill(a, &q->studies[i], &none, &all[i]);
    }
    return &all[study % q->n_studies];
}

void fuzz_run_header(const char *bytes, size_t n)
{
    const struct wants *w = wants_of(n > 0 ? (unsigned char)bytes[0] : 0);
    struct arena *a = fuzz_begin();
    const char *cell = n > 0 ? arena_copy_n(a, bytes + 1, n - 1) : "";
    check_both(a, w, cell);
    check_text_helpers(a, cell, strlen(cell));
    fuzz_end(a);
}
