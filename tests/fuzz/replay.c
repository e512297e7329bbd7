/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Feeds a target without libFuzzer:
 *   replay TARGET files PATH...        every file, or every file of a folder
 *   replay TARGET change N SEED PATH   N inputs made of the folder's files by small changes
 *   replay TARGET generate N SEED      N inputs out of the target's own generator
 * The streams are fixed by the seed. An input that ends the program is left in the file
 * replay-TARGET.input of the working folder. */
#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "fuzz.h"

void fuzz_pool_keep(void)
{
}

void fuzz_pool_reset(void)
{
}

/* ---- one input ------------------------------------------------------------------------------- */

static char kept_name[64];
static const char *current;
static size_t current_n;

static void keep_input(int number)
{
    FILE *f = fopen(kept_name, "wb");
    if (f != NULL) {
        fwrite(current, 1, current_n, f);
        fclose(f);
    }
    signal(number, SIG_DFL);
    raise(number);
}

/* In a block of its own, so that the sanitizers see its edges. */
static void feed(const struct fuzz_target *t, const char *bytes, size_t n)
{
    char *copy = malloc(n > 0 ? n : 1);
    FUZZ_CHECK(copy != NULL, "out of memory");
    memcpy(copy, bytes, n);
    current = copy;
    current_n = n;
    t->run(copy, n);
    free(copy);
}

/* ---- files ----------------------------------------------------------------------------------- */

struct file {
    char *bytes;
    size_t n;
};

struct files {
    struct file *items;
    size_t n;
};

static struct file read_file(const char *path)
{
    FILE *f = fopen(path, "rb");
    FUZZ_CHECK(f != NULL, "%s: %s", path, strerror(errno));
    struct file out = {.bytes = malloc(1 << 20)};
    FUZZ_CHECK(out.bytes != NULL, "out of memory");
    out.n = fread(out.bytes, 1, 1 << 20, f);
    fclose(f);
    char *fitted = realloc(out.bytes, out.n > 0 ? out.n : 1);
    out.bytes = fitted != NULL ? fitted : out.bytes;
    return out;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void add_path(struct files *all, const char *path);

static void add_folder(struct files *all, const char *path)
{
    DIR *d = opendir(path);
    FUZZ_CHECK(d != NULL, "%s: %s", path, strerror(errno));
    char **names = NULL;
    size_t n = 0;
    for (struct dirent *entry; (entry = readdir(d)) != NULL;) {
        if (entry->d_name[0] == '.')
            continue;
        size_t length = strlen(path) + strlen(entry->d_name) + 2;
        names = realloc(names, (n + 1) * sizeof *names);
        FUZZ_CHECK(names != NULL && (names[n] = malloc(length)) != NULL, "out of memory");
        snprintf(names[n++], length, "%s/%s", path, entry->d_name);
    }
    closedir(d);
    if (n > 0)
        qsort(names, n, sizeof *names, by_name); /* the stream must not depend on the folder */
    for (size_t i = 0; i < n; i++) {
        add_path(all, names[i]);
        free(names[i]);
    }
    free(names);
}

static void add_path(struct files *all, const char *path)
{
    struct stat st;
    FUZZ_CHECK(stat(path, &st) == 0, "%s: %s", path, strerror(errno));
    if (S_ISDIR(st.st_mode)) {
        add_folder(all, path);
        return;
    }
    all->items = realloc(all->items, (all->n + 1) * sizeof *all->items);
    FUZZ_CHECK(all->items != NULL, "out of memory");
    all->items[all->n++] = read_file(path);
}

static void drop_files(struct files *all)
{
    for (size_t i = 0; i < all->n; i++)
        free(all->items[i].bytes);
    free(all->items);
}

/* ---- changes --------------------------------------------------------------------------------- */

#define ROOM ((size_t)1 << 20)

static void insert(char *s, size_t *n, size_t at, const char *bytes, size_t length)
{
    if (*n + length > ROOM)
        return;
    memmove(s + at + length, s + at, *n - at);
    memcpy(s + at, bytes, length);
    *n += length;
}

static void change_once(char *s, size_t *n, const struct file *other, uint64_t *random)
{
    static const char *const words[] = {
        "\"",  ",",   ";", "\t", "\n", "\r\n", "\r", "|",  "#",    "[", "]",
        "=",   "{",   "}", "-",  "<",  ".",    "1e", "\\", "\xFF", "0", "\xEF\xBB\xBF",
        "NaN", "\x01"};
    size_t at = fuzz_random_below(random, *n + 1), kind = fuzz_random_below(random, 6);
    size_t length = 1 + fuzz_random_below(random, fuzz_random_below(random, 2) ? 4 : 40);
    if (kind == 0 && at < *n) {
        s[at] = (char)(s[at] ^ (1 << fuzz_random_below(random, 8)));
    } else if (kind == 1 && at + length <= *n) {
        memmove(s + at, s + at + length, *n - at - length);
        *n -= length;
    } else if (kind == 2) {
        const char *w = words[fuzz_random_below(random, PL_COUNT(words))];
        insert(s, n, at, w, strlen(w));
    } else if (kind == 3 && other->n > 0) { /* a piece of another file */
        size_t from = fuzz_random_below(random, other->n);
        insert(s, n, at, other->bytes + from, length < other->n - from ? length : other->n - from);
    } else if (kind == 4 && at < *n) {
        s[at] = (char)fuzz_random_below(random, 256);
    } else if (kind == 5 && at > 0 && fuzz_random_below(random, 4) == 0) {
        *n = at;
    }
}

static size_t run_changed(const struct fuzz_target *t, const struct files *all, size_t times,
                          uint64_t seed)
{
    char *s = malloc(ROOM + 64);
    FUZZ_CHECK(s != NULL && all->n > 0, "nothing to change");
    for (size_t i = 0; i < times; i++) {
        const struct file *from = &all->items[fuzz_random_below(&seed, all->n)];
        size_t n = from->n;
        memcpy(s, from->bytes, n);
        for (size_t k = 1 + fuzz_random_below(&seed, 6); k > 0; k--)
            change_once(s, &n, &all->items[fuzz_random_below(&seed, all->n)], &seed);
        feed(t, s, n);
    }
    free(s);
    return times;
}

static size_t run_generated(const struct fuzz_target *t, size_t times, uint64_t seed)
{
    char s[2048];
    FUZZ_CHECK(t->generate != NULL, "%s has no generator", t->name);
    for (size_t i = 0; i < times; i++)
        feed(t, s, t->generate(s, t->longest, &seed));
    return times;
}

/* ---- the program ----------------------------------------------------------------------------- */

static int usage(void)
{
    fputs("replay TARGET files PATH... | change N SEED PATH... | generate N SEED\ntargets:",
          stderr);
    for (const struct fuzz_target *t = fuzz_targets; t->name != NULL; t++)
        fprintf(stderr, " %s", t->name);
    fputc('\n', stderr);
    return 2;
}

int main(int argc, char **argv)
{
    const struct fuzz_target *t = argc > 3 ? fuzz_target_find(argv[1]) : NULL;
    if (t == NULL)
        return usage();
    bool files = strcmp(argv[2], "files") == 0, change = strcmp(argv[2], "change") == 0;
    if (!files && argc < 5)
        return usage();
    snprintf(kept_name, sizeof kept_name, "replay-%s.input", t->name);
    signal(SIGABRT, keep_input);
    signal(SIGSEGV, keep_input);
    struct files all = {NULL, 0};
    size_t times = files ? 0 : (size_t)strtoul(argv[3], NULL, 10), done = 0;
    uint64_t seed = files ? 0 : strtoull(argv[4], NULL, 10);
    for (int i = files ? 3 : 5; i < argc; i++)
        add_path(&all, argv[i]);
    if (!files && !change) {
        done = run_generated(t, times, seed);
    } else if (change) {
        done = run_changed(t, &all, times, seed);
    } else {
        for (; done < all.n; done++)
            feed(t, all.items[done].bytes, all.items[done].n);
    }
    drop_files(&all);
    arena_free(fuzz_kept_arena());
    printf("%zu inputs\n", done);
    return 0;
}
