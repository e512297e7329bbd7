/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to the sample analysis: its invented shots and its gate-freeze finding. */
#ifndef TESTS_SAMPLE_DATA_H
#define TESTS_SAMPLE_DATA_H

#include "plateau/report.h"

#define SAMPLE_CONDITIONS 8
#define SAMPLE_SHOTS 3
#define FREEZE_FILE "gate-freeze.csv"
#define HOLD_FILE "hold-window.csv"

/* Copies a literal array into the arena, so that tests may change it. */
#define KEEP(a, type, n, ...) sample_keep((a), (const type[]){__VA_ARGS__}, sizeof(type), (n))
void *sample_keep(struct arena *a, const void *items, size_t size, size_t n);

double sample_setting(size_t condition); /* hold time, s */
double sample_weight(size_t condition, size_t shot);
bool sample_is_excluded(size_t condition, size_t shot);
long sample_line(size_t condition, size_t shot);
void sample_gate_freeze(struct arena *a, struct finding *f);

#endif
