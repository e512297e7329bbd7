/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the bytes of a study's tables to its finding, the flags that all studies share included.
 * Whatever the reader refuses fails the test. */
#ifndef TESTS_RUN_STUDY_H
#define TESTS_RUN_STUDY_H

#include "plateau/study.h"

struct study_file {
    const char *study, *csv;
};

/* The finding of the first file's study, beside the other files; or the study's error in *e. `ini`
 * is the text of trial.ini, "" for none. */
enum errc run_study_files(struct arena *a, const struct study_file *files, size_t n,
                          const char *ini, struct finding *f, struct error *e);
/* One file that must be analyzed. */
struct finding run_study(struct arena *a, const char *study, const char *csv, const char *ini);

#endif
