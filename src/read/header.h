/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * header: what a header cell means. Knows names and units, no positions.
 */
#ifndef READ_HEADER_H
#define READ_HEADER_H

#include "plateau/read.h"

enum role {
    ROLE_VALUE,
    ROLE_SHOT,
    ROLE_EXCLUDE,
    ROLE_EXCLUDED_BY,
    ROLE_NOTE,
    ROLE_DEFECT,
    ROLE_CAVITY
};

/* One column that may be in the file. */
struct want {
    const struct column_spec *spec;
    enum role role;
    const char *mapped; /* the header that [columns] names for it, or NULL */
};

struct want_name {
    const char *folded;
    size_t want;
    bool mapped;
    bool own; /* the name of the contract, no synonym */
};

struct wants {
    struct want *items;
    size_t n;
    struct want_name *names;
    size_t n_names, cap_names;
    size_t n_required;
};

/* The study's columns, the columns that every study accepts, and one column per name in
 * [dimensions] that the study does not list itself. */
void wants_fill(struct arena *a, const struct study_input *study, const struct facts *facts,
                struct wants *out);

enum basis { BASIS_NOT_SAID, BASIS_HYDRAULIC, BASIS_MELT };

/* What one header cell says. */
struct header_name {
    const char *shown;       /* on one line, for people */
    const struct want *want; /* NULL: none of ours */
    int cavity;              /* 0: none */
    bool mapped;             /* by [columns] */
    bool other_name;         /* a synonym, or the name that [columns] gives */
    enum basis basis;
    const struct unit *unit;  /* of the dimension asked, or of another one; NULL: none said */
    const char *question;     /* a unit with two readings: what to ask */
    const char *unit_text;    /* the unit as written, "" */
    bool unit_unknown;        /* a bracket that holds no unit we know */
    bool cavity_without_name; /* `cavity 1`, and several columns could be meant */
};

/* `loose` also matches a name whose bracket holds no known unit (unit_unknown is set then). */
void header_read(struct arena *a, const struct wants *w, const char *cell, bool loose,
                 struct header_name *out);

#endif
