/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An invented analysis with every field filled, for the tests of everything that writes or draws.
 * All numbers are made up. The data comes from no press; the texts name nobody. */
#ifndef TESTS_SAMPLE_ANALYSIS_H
#define TESTS_SAMPLE_ANALYSIS_H

#include "plateau/report.h"

/* A gate-freeze study (24 shots, one left out by its author, one by the reader), a small
 * hold-window study, and their window: hold time met, hold pressure not shown. Pressures were
 * entered in bar. Everything may be changed by the caller: nothing is shared between two calls. */
void sample_analysis(struct arena *a, struct analysis *out);

/* The same, with markup, terminal escapes, quotes, broken UTF-8 and bidi marks in every text that
 * can come from a user. */
void sample_analysis_hostile(struct arena *a, struct analysis *out);
/* The text that the hostile sample puts everywhere. */
extern const char sample_hostile_text[];

/* A gate that never freezes: no bound, no aim, a stop flag. */
void sample_analysis_not_frozen(struct arena *a, struct analysis *out);

/* The parts behind the const pointers of struct analysis, for tests that change them. */
struct finding *sample_findings(const struct analysis *x);
struct window *sample_window(const struct analysis *x);
struct premises *sample_premises(const struct analysis *x);

#endif
