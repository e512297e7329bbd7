/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * text_decode: bytes -> UTF-8 text. The first layer: no later one sees raw bytes.
 */
#ifndef READ_TEXT_DECODE_H
#define READ_TEXT_DECODE_H

#include "plateau/base.h"

struct decoded {
    const char *s; /* valid UTF-8 without a byte order mark, NUL behind the last byte */
    size_t length;
    const char *encoding; /* "UTF-8", "UTF-8 with byte order mark", "UTF-16LE", "Windows-1252" */
    /* What was assumed, for the block "How this file was read"; NULL when nothing was: */
    const char *note_code, *note;
    size_t note_count;
    long note_lines[3];
    /* U+FFFD that stand for bytes that are no UTF-8 in a file that otherwise is: whoever reads a
     * cell or value with one in it decides whether that matters. */
    size_t strays;
    long stray_lines[3];
};

/* The encoding: `encoding` where it is not NULL ("UTF-8", "UTF-16LE", "UTF-16BE", "Windows-1252"),
 * else a byte order mark, else UTF-16 where at least 30 % of the bytes are NUL and all stand in odd
 * (or all in even) places, else UTF-8, else Windows-1252 where no byte sequence is UTF-8 beyond
 * ASCII and every byte has a meaning in it. A byte order mark wins over `encoding`.
 *
 * Returns false, with a located error in `diags`, when the bytes are no text: a workbook or
 * document by its first bytes (ZIP, OLE, PDF, ...), NUL bytes, bytes with no meaning in the
 * encoding asked for. `file` is printed in messages. An empty file is a text of length 0. */
bool text_decode(struct arena *a, const char *file, const void *bytes, size_t n_bytes,
                 const char *encoding, struct decoded *out, struct diag_list *diags);

/* End of the line that starts at `from`; *next is where the following one starts (length at the
 * end of the text). LF, CRLF and CR end a line. */
size_t text_line_end(const char *s, size_t length, size_t from, size_t *next);

/* The place of byte `at` of a text whose physical line `line` starts at byte `start`: columns in
 * characters, the line made harmless for the caret. `to` is the end of the span in bytes. */
struct diag_place text_place(struct arena *a, const char *s, size_t length, long line, size_t start,
                             size_t at, size_t to);

#endif
