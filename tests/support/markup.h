/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TESTS_MARKUP_H
#define TESTS_MARKUP_H

/* HTML or SVG: tags close in the order in which they were opened. */
void assert_well_formed(const char *s);

#endif
