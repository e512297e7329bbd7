/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a file may be at most. A file beyond is refused with the place, and with the usual cause: a
 * quote that was never closed. In the manual and tested.
 */
#ifndef READ_LIMITS_H
#define READ_LIMITS_H

#define LIMIT_FILE_BYTES ((size_t)1 << 30)  /* 1 GiB */
#define LIMIT_CELL_BYTES ((size_t)64 << 10) /* 64 KiB, one cell, quotes counted */
#define LIMIT_ROW_CELLS 4096
#define LIMIT_RECORDS ((size_t)1 << 21)     /* rows; twice what a spreadsheet holds */
#define LIMIT_CAVITIES 999                  /* highest cavity number */
#define LIMIT_TABLE_CELLS ((size_t)1 << 25) /* shots times columns */
#define LIMIT_HEADER_ROWS 200               /* the header stands in the first so many rows */
#define LIMIT_OPEN_QUOTES 20      /* after so many broken records the rest is not looked at */
#define LIMIT_QUOTED_LINES 3      /* a longer quoted cell that holds whole rows is an open quote */
#define LIMIT_UNREAD_EXPLAINED 20 /* files of no study; the others are counted */
#define LIMIT_UNUSED_LISTED 50    /* headers of unused columns, lines of preamble */

#endif
