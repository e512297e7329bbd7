/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: which member of which struct stands under which key of the record. The writer
 * and the reader use the same tables, so that they cannot drift apart. */
#ifndef REPORT_FIELDS_H
#define REPORT_FIELDS_H

#include "plateau/report.h"
#include "report/json.h"

#define RECORD_VERSION 1

enum field_type {
    FIELD_TEXT,      /* const char * */
    FIELD_FILE,      /* const char *, never an absolute path */
    FIELD_NUMBER,    /* double */
    FIELD_SIZE,      /* size_t */
    FIELD_LONG,      /* long */
    FIELD_INT,       /* int */
    FIELD_BOOL,      /* bool */
    FIELD_DIMENSION, /* enum dimension as its canonical unit; null for text */
    FIELD_UNIT,      /* const char * that overrides the unit of the dimension at `other` */
    FIELD_ORIGIN,    /* char, as words */
    FIELD_VERDICT,   /* the enums, as words */
    FIELD_FLAG_GRADE,
    FIELD_BOUND_SIDE,
    FIELD_BOUND_GRADE,
    FIELD_FACT_KIND,
    FIELD_OTHER_SHOTS
};

struct field {
    const char *key;
    enum field_type type;
    size_t offset;
    size_t other; /* FIELD_UNIT: offset of the dimension */
    bool required;
};

struct field_table {
    const struct field *fields;
    size_t n, size; /* size of the struct */
};

extern const struct field_table fields_bound, fields_column, fields_condition, fields_criterion,
    fields_expected, fields_fact, fields_file, fields_finding, fields_flag, fields_left_out,
    fields_model, fields_next_shot, fields_no_window, fields_operating, fields_options,
    fields_other_answer, fields_quantity, fields_repair, fields_setting, fields_table;

/* The words of an enum field, by value; NULL ends them. NULL for other types. */
const char *const *field_words(enum field_type t);
/* Origins: 'C' and its words. */
struct field_origin {
    char origin;
    const char *words;
};
extern const struct field_origin field_origins[];
extern const size_t n_field_origins;

#endif
