/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * coverage CELLS NAME TRIALS   runs one cell and prints its rows
 * coverage CELLS --distances   prints how far each plateau truth is from the other side
 *
 * A row: cell, quantity, method, trials, printed, covered, above the truth, below it, open, median
 * width (tabs between). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "coverage.h"

#define MOST_LINE 1024

/* ---- parameters of a cell ---------------------------------------------------------------------
 */

static const char *find_key(const struct cov_cell *c, const char *key)
{
    size_t n = strlen(key);
    for (const char *p = c->parameters; *p != '\0';) {
        if (strncmp(p, key, n) == 0 && p[n] == '=')
            return p + n + 1;
        p += strcspn(p, " ");
        p += strspn(p, " ");
    }
    return NULL;
}

double cov_number(const struct cov_cell *c, const char *key, double otherwise)
{
    const char *p = find_key(c, key);
    return p != NULL ? strtod(p, NULL) : otherwise;
}

bool cov_is(const struct cov_cell *c, const char *key, const char *word)
{
    const char *p = find_key(c, key);
    return p != NULL && strcspn(p, " ") == strlen(word) && strncmp(p, word, strlen(word)) == 0;
}

const char *cov_word(struct arena *a, const struct cov_cell *c, const char *key)
{
    const char *p = find_key(c, key);
    return p != NULL ? arena_printf(a, "%.*s", (int)strcspn(p, " "), p) : "";
}

struct sim_stream cov_stream(const struct cov_cell *c, size_t trial)
{
    uint64_t h = 1469598103934665603u; /* FNV-1a of the name */
    for (const char *p = c->name; *p != '\0'; p++)
        h = (h ^ (unsigned char)*p) * 1099511628211u;
    struct sim_stream s = {h + 0xD1342543DE82EF95u * (uint64_t)(trial + 1)};
    s.state = (uint64_t)(sim_uniform(&s) * 0x1p53) * 0x9E3779B97F4A7C15u + h;
    return s;
}

/* ---- running a cell ----------------------------------------------------------------------------
 */

static bool run(const struct cov_cell *c, size_t trials)
{
    static struct cov_rows rows;
    static const struct {
        const char *study;
        void (*run)(const struct cov_cell *c, size_t trials, struct cov_rows *out);
    } studies[] = {
        {"gate-freeze", cov_gate_freeze},  {"cavities", cov_cavities},
        {"viscosity", cov_viscosity},      {"pressure-drop", cov_pressure_drop},
        {"cavity-balance", cov_imbalance}, {"cooling", cov_cooling},
        {"open-gate", cov_open_gate},      {"fill-trend", cov_fill_trend},
    };
    for (size_t i = 0; i < PL_COUNT(studies); i++)
        if (strcmp(studies[i].study, c->study) == 0) {
            studies[i].run(c, trials, &rows);
            cov_print(&rows, c->name);
            return true;
        }
    fprintf(stderr, "coverage: %s: no such study: %s\n", c->name, c->study);
    return false;
}

static void print_distance(const struct cov_cell *c)
{
    double d = strcmp(c->study, "gate-freeze") == 0 ? cov_gate_freeze_distance(c)
               : strcmp(c->study, "viscosity") == 0 ? cov_viscosity_distance(c)
                                                    : (double)NAN;
    if (!isnan(d))
        printf("%s\t%.2f\n", c->name, d);
}

/* Splits a line of the list in place; false for a comment. */
static bool read_cell(char *line, struct cov_cell *out)
{
    char *field[5] = {NULL};
    line[strcspn(line, "\n")] = '\0';
    if (*line == '#' || *line == '\0')
        return false;
    for (size_t i = 0; i < 5 && line != NULL; i++) {
        field[i] = line;
        line = strchr(line, '\t');
        if (line != NULL)
            *line++ = '\0';
    }
    if (field[4] == NULL)
        return false;
    *out = (struct cov_cell){field[0], field[1], field[2], field[4], strtod(field[3], NULL)};
    return true;
}

int main(int argc, char **argv)
{
    bool distances = argc == 3 && strcmp(argv[2], "--distances") == 0;
    if (argc != 4 && !distances) {
        fprintf(stderr, "usage: coverage CELLS NAME TRIALS | coverage CELLS --distances\n");
        return 2;
    }
    FILE *in = fopen(argv[1], "r");
    if (in == NULL) {
        perror(argv[1]);
        return 1;
    }
    char line[MOST_LINE];
    bool done = distances;
    while (fgets(line, sizeof line, in) != NULL) {
        struct cov_cell c;
        if (!read_cell(line, &c))
            continue;
        if (distances)
            print_distance(&c);
        else if (strcmp(c.name, argv[2]) == 0)
            done = run(&c, (size_t)strtoul(argv[3], NULL, 10));
    }
    fclose(in);
    if (!done)
        fprintf(stderr, "coverage: no cell %s\n", argv[2]);
    return done ? 0 : 1;
}
