/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * base: errors, located diagnostics, arenas, text building, dimensions and facts.
 * Knows nothing of tables, fits or reports; every other room may use it.
 */
#ifndef PLATEAU_BASE_H
#define PLATEAU_BASE_H

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#define PLATEAU_VERSION "0.1.0"

#if defined(__GNUC__)
#define PL_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))
#define PL_MUST_CHECK __attribute__((warn_unused_result))
#define PL_NORETURN __attribute__((noreturn))
#else
#define PL_PRINTF(fmt, args)
#define PL_MUST_CHECK
#define PL_NORETURN
#endif

/* The macros of <math.h> are floats; these stand in a conditional without a promotion. */
#define PL_INF ((double)INFINITY)
#define PL_NAN ((double)NAN)

#define PL_COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* ---- failure: cannot go on ------------------------------------------------------------ */

/* name, exit status, text */
#define PL_ERROR_LIST(E)                                                                           \
    E(ERR_NONE, 0, "no error")                                                                     \
    E(ERR_USAGE, 2, "usage")                                                                       \
    E(ERR_INPUT, 3, "bad input")                                                                   \
    E(ERR_READ, 4, "could not read")                                                               \
    E(ERR_WRITE, 4, "could not write")                                                             \
    E(ERR_NUMERIC, 70, "numerical failure")                                                        \
    E(ERR_INTERNAL, 70, "internal error")

#define PL_ERROR_ENUM(name, status, text) name,
enum errc { PL_ERROR_LIST(PL_ERROR_ENUM) };
#undef PL_ERROR_ENUM

/* One failure with its place. The first one wins: error_set leaves an error that is already
 * set alone. `file` and `line` are the user's place (empty / 0 when there is none),
 * `src_file` and `src_line` ours. */
struct error {
    enum errc code;
    char file[256];
    long line;
    char message[512];
    const char *src_file;
    int src_line;
};

/* Sets `e` unless it is set already; returns the code in `e`. `file` may be NULL. */
enum errc error_set(struct error *e, const char *src_file, int src_line, enum errc code,
                    const char *file, long line, const char *fmt, ...) PL_PRINTF(7, 8);
int error_exit_status(enum errc code);
const char *error_name(enum errc code);

#define ERR_SET(e, code, ...) error_set((e), __FILE__, __LINE__, (code), NULL, 0, __VA_ARGS__)
#define ERR_AT(e, code, file, line, ...)                                                           \
    error_set((e), __FILE__, __LINE__, (code), (file), (line), __VA_ARGS__)
/* Returns from the calling function with the code when `expr` fails. */
#define TRY(expr)                                                                                  \
    do {                                                                                           \
        enum errc try_code_ = (enum errc)(expr);                                                   \
        if (try_code_ != ERR_NONE)                                                                 \
            return try_code_;                                                                      \
    } while (0)

/* ---- arena: everything one analysis makes lives to its end ------------------------------ */

struct arena;

/* Called when memory runs out; must not return. The default prints and exits with 70; that
 * is the one place below the command line that may end the program. */
typedef void arena_out_of_memory_fn(size_t bytes);
void arena_set_out_of_memory(arena_out_of_memory_fn *fn);

struct arena *arena_new(void);
void arena_free(struct arena *a); /* NULL is fine */
/* Zeroed, aligned for any type, never NULL. Size 0 gives a valid pointer. */
void *arena_alloc(struct arena *a, size_t bytes);
/* n * size with overflow check. */
void *arena_array(struct arena *a, size_t n, size_t size);
#define ARENA_NEW(a, type) ((type *)arena_alloc((a), sizeof(type)))
#define ARENA_ARRAY(a, type, n) ((type *)arena_array((a), (n), sizeof(type)))
char *arena_copy(struct arena *a, const char *s);                  /* NULL gives NULL */
char *arena_copy_n(struct arena *a, const char *s, size_t length); /* adds the final NUL */
char *arena_printf(struct arena *a, const char *fmt, ...) PL_PRINTF(2, 3);
/* `free_fn(p)` runs at arena_free or at arena_reset past this point, in reverse order. */
void arena_adopt(struct arena *a, void *p, void (*free_fn)(void *));
struct arena_mark {
    size_t block, used, adopted;
};
struct arena_mark arena_mark(const struct arena *a);
void arena_reset(struct arena *a, struct arena_mark m);

/* Grows an arena-held array: returns room for one more element behind `*n`, counts it. */
void *arena_push(struct arena *a, void *array_pointer, size_t *n, size_t *capacity, size_t size);
#define ARENA_PUSH(a, array, n, capacity)                                                          \
    (arena_push((a), &(array), &(n), &(capacity), sizeof *(array)), &(array)[(n)-1])

/* ---- text: a growing string -------------------------------------------------------------- */

struct text {
    struct arena *arena;
    char *s; /* always NUL-terminated */
    size_t length, capacity;
};

void text_init(struct text *t, struct arena *a);
void text_add(struct text *t, const char *s);
void text_add_n(struct text *t, const char *s, size_t length);
void text_add_char(struct text *t, char c);
void text_addf(struct text *t, const char *fmt, ...) PL_PRINTF(2, 3);
void text_vaddf(struct text *t, const char *fmt, va_list ap);
void text_clear(struct text *t);

/* A number for people: `digits` significant digits, trailing zeros kept, no exponent between
 * 1e-4 and 1e7, point as decimal mark whatever the locale. Not finite: "-". */
void text_add_number(struct text *t, double v, int digits);
/* The same with a fixed number of decimals. */
void text_add_fixed(struct text *t, double v, int decimals);
const char *number_text(struct arena *a, double v, int digits);
/* Rounds to 10 significant digits, half away from zero; what leaves `math` and what the record
 * holds. */
double round_10(double v);
/* Decimals (0 to 9) so that the half-width of an interval, or a step, shows two significant digits.
 */
int decimals_for(double half_width);

/* UTF-8 helpers: columns on a terminal (combining marks 0, wide forms 2), and a copy in which
 * control characters (C0 but none kept, DEL, C1), bidi marks and broken bytes are spelled
 * `\x1B`, `\u200B`; harmless on any terminal and in any page. */
size_t utf8_columns(const char *s);
char *text_harmless(struct arena *a, const char *s, size_t length);
/* Bytes of the UTF-8 character at s (1..4), or 0 when broken; its code point in *cp. */
size_t utf8_next(const char *s, size_t length, unsigned *cp);
/* The length of s, or the most bytes up to `most` that do not end inside a character. */
size_t utf8_prefix(const char *s, size_t most);

bool text_same_word(const char *a, const char *b); /* ASCII case-insensitive equality */
/* The nearest of the words to `s` (edit distance at most 1 + length / 4), or NULL. */
const char *text_nearest(const char *s, const char *const *words, size_t n);

/* ---- dimensions ---------------------------------------------------------------------------- */

/* name, canonical unit as the record prints it */
#define PL_DIMENSION_LIST(D)                                                                       \
    D(DIM_TEXT, "")                                                                                \
    D(DIM_COUNT, "")  /* a plain number */                                                         \
    D(DIM_RATIO, "1") /* fraction; typed as % or a fraction with unit 1 */                         \
    D(DIM_TIME, "s")                                                                               \
    D(DIM_LENGTH, "mm")                                                                            \
    D(DIM_AREA, "mm2")                                                                             \
    D(DIM_VOLUME, "mm3")                                                                           \
    D(DIM_MASS, "g")                                                                               \
    D(DIM_SPEED, "mm/s")                                                                           \
    D(DIM_VOLUME_RATE, "mm3/s")                                                                    \
    D(DIM_PRESSURE, "MPa")                                                                         \
    D(DIM_FORCE, "kN")                                                                             \
    D(DIM_TEMPERATURE, "degC")                                                                     \
    D(DIM_TEMPERATURE_STEP, "K")                                                                   \
    D(DIM_DENSITY, "g/cm3")                                                                        \
    D(DIM_DIFFUSIVITY, "mm2/s")                                                                    \
    D(DIM_RATE, "1/s")                                                                             \
    D(DIM_VISCOSITY, "MPa.s") /* in-mold relative viscosity, pressure x fill time */               \
    D(DIM_AGE, "h")                                                                                \
    D(DIM_MASS_RATE, "g/s")

#define PL_DIMENSION_ENUM(name, unit) name,
enum dimension { PL_DIMENSION_LIST(PL_DIMENSION_ENUM) DIM_N };
#undef PL_DIMENSION_ENUM

const char *dimension_unit(enum dimension d); /* canonical unit, "" for text and counts */
const char *dimension_name(enum dimension d); /* "time", "pressure", ... for messages */

/* A unit in which people see a dimension: canonical = shown * factor + offset. */
struct display_unit {
    const char *name;
    double factor, offset;
};
/* "5.8 s": the value in the unit people entered. The number of decimals shows two significant
 * digits of `half_width` (canonical; NAN: four significant digits, trailing zeros dropped). A
 * display without a name for the dimension means the canonical unit. Not finite: "-". */
const char *value_text(struct arena *a, const struct display_unit display[DIM_N], enum dimension d,
                       double v, double half_width);
/* As value_text, rounded up (toward > 0) or down (toward < 0): a limit that is printed must not lie
 * on its wrong side. */
const char *value_text_toward(struct arena *a, const struct display_unit display[DIM_N],
                              enum dimension d, double v, double half_width, int toward);
double round_toward(double v, int decimals, int toward); /* 0: v itself */
/* "5.1 to 5.8 s", ends rounded outward; an infinite end reads "below 5.8 s" or "above 5.1 s". */
const char *interval_text(struct arena *a, const struct display_unit display[DIM_N],
                          enum dimension d, double low, double high);

/* ---- facts: what trial.ini says, typed ------------------------------------------------------ */

enum fact_kind {
    FACT_TEXT,     /* text as typed */
    FACT_QUANTITY, /* low == high */
    FACT_RANGE,    /* low..high */
    FACT_LIMITS    /* limits of a measured characteristic; one side may be infinite */
};

/* One key of trial.ini, or the default of a criterion that was not given. Numbers are in the
 * canonical unit of `dimension`. A criterion may have an absolute part, a relative one
 * (fraction), or both ("0.5 s or 5 %, the larger"); a part not given is NAN. */
struct fact {
    const char *section, *key;
    enum fact_kind kind;
    enum dimension dimension;
    double low, high;
    double relative;
    const char *text; /* as typed, or the default's wording */
    long line;        /* in trial.ini; 0 when not given there */
    bool given;       /* false: a default */
    char origin;      /* criteria: 'C' common practice, 'O' our convention, 'S' a standard */
};

struct facts {
    const char *file; /* "trial.ini", or NULL when there is none */
    struct fact *items;
    size_t n, capacity;
};

/* NULL when neither given nor defaulted. */
const struct fact *facts_find(const struct facts *f, const char *section, const char *key);
/* The quantity's value, or `otherwise` when it is not there. */
double facts_number(const struct facts *f, const char *section, const char *key, double otherwise);
const char *facts_text(const struct facts *f, const char *section, const char *key);

/* Where people see pressures as hydraulic ones of this press: the melt pressure `v` in the same
 * unit, "943 bar", for use on another press. NULL where they see melt pressures, or v is NAN. */
const char *melt_pressure_text(struct arena *a, const struct display_unit display[DIM_N],
                               const struct facts *f, double v, double half_width);

/* A key of [criteria]: what it is called, its default, where the default comes from. */
struct criterion_spec {
    const char *name;
    enum dimension dimension; /* of the absolute part */
    double absolute;          /* canonical; NAN: none */
    double relative;          /* fraction; NAN: none */
    char origin;              /* 'C' common practice, 'O' our convention, 'S' a standard */
    const char *wording;      /* "0.1 % of the plateau weight" */
    const char *meaning;      /* one sentence */
};

/* ---- input diagnostics: many, all reported --------------------------------------------------- */

enum severity { DIAG_NOTE, DIAG_WARNING, DIAG_ERROR };

/* One kind of trouble in one column of one file, with its count and first three places. */
struct diag_place {
    long line;                  /* physical line, 1-based; 0: the file as a whole */
    int column_from, column_to; /* bytes... of the line in characters, 1-based; 0: whole line */
    char address[16];           /* spreadsheet address "D14", "" when none */
    const char *source;         /* the physical line, harmless, for the caret; NULL when none */
};
struct diag {
    enum severity severity;
    const char *code; /* for `explain`, e.g. "not-a-number" */
    const char *file;
    const char *column; /* the column's name, or NULL; with `code` the grouping key */
    struct diag_place places[3];
    size_t count;         /* how often; places holds the first three */
    const char *message;  /* what was found */
    const char *expected; /* NULL when the message says it all */
    const char *remedy;   /* how to mend it */
};
struct diag_list {
    struct arena *arena;
    struct diag *items;
    size_t n, capacity;
    size_t errors, warnings, notes; /* by kind, not by count */
};

void diag_init(struct diag_list *l, struct arena *a);
/* Adds a diagnostic, or counts it onto one with the same file, code and column. The strings of
 * `d` are copied; `place` may be NULL. At most 50 error kinds are kept per file, the rest are
 * counted in `errors` only. */
void diag_add(struct diag_list *l, const struct diag *d, const struct diag_place *place);
/* What `explain` says of one code. */
struct code_text {
    const char *code, *meaning, *remedy;
};
/* "A" for column 1, "AB" for 28, with the row number. */
void diag_address(char out[16], long column, long row);

#endif
