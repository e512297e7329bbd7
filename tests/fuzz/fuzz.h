/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the fuzz targets share. A target takes any bytes, runs one reader on them and checks what
 * must hold whatever they are; FUZZ_CHECK ends the program when something does not. The same
 * targets run under libFuzzer (entry.c, with the arena of pool.c) and under a plain program that
 * feeds them files and generated inputs (replay.c). */
#ifndef TESTS_FUZZ_H
#define TESTS_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "plateau/base.h"
#include "plateau/read.h"

struct fuzz_target {
    const char *name;
    void (*run)(const char *bytes, size_t n);
    /* One input out of a stream of random numbers, or NULL: changed files only. */
    size_t (*generate)(char *out, size_t room, uint64_t *random);
    size_t longest; /* inputs are cut to so many bytes */
};

/* The list of targets ends with an empty one. */
extern const struct fuzz_target fuzz_targets[];
const struct fuzz_target *fuzz_target_find(const char *name);

void fuzz_run_cells(const char *bytes, size_t n);
void fuzz_run_header(const char *bytes, size_t n);
void fuzz_run_ini(const char *bytes, size_t n);
void fuzz_run_number(const char *bytes, size_t n);
void fuzz_run_record(const char *bytes, size_t n);
void fuzz_run_table(const char *bytes, size_t n);
void fuzz_run_unit(const char *bytes, size_t n);
size_t fuzz_generate_cells(char *out, size_t room, uint64_t *random);
size_t fuzz_generate_number(char *out, size_t room, uint64_t *random);

/* What is made before the first input and kept, and what one input makes. */
struct arena *fuzz_kept_arena(void);
struct arena *fuzz_begin(void);
void fuzz_end(struct arena *a);
/* pool.c or replay.c: everything allocated so far is kept; everything since then is gone. */
void fuzz_pool_keep(void);
void fuzz_pool_reset(void);

/* All studies and criteria of this program. */
const struct read_request *fuzz_request(void);

/* The next number of a fixed stream; below n. */
uint64_t fuzz_random(uint64_t *state);
size_t fuzz_random_below(uint64_t *state, size_t n);

PL_NORETURN void fuzz_fail(const char *file, int line, const char *fmt, ...) PL_PRINTF(3, 4);
#define FUZZ_CHECK(condition, ...)                                                                 \
    do {                                                                                           \
        if (!(condition))                                                                          \
            fuzz_fail(__FILE__, __LINE__, __VA_ARGS__);                                            \
    } while (0)

/* True for valid UTF-8 without control characters and marks that change the writing direction. */
bool fuzz_is_harmless(const char *s);
/* The same double, bit by bit. */
bool fuzz_same_double(double a, double b);
/* Makes of any bytes what text_decode leaves: valid UTF-8 without NUL. */
void fuzz_make_text(char *s, size_t n);
size_t fuzz_physical_lines(const char *s, size_t n);
/* Every diagnostic has a known code, a sentence, a place inside the file, and prints harmlessly. */
void fuzz_check_diags(struct arena *a, const struct diag_list *l, size_t lines);

#endif
