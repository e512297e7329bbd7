/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "commands.h"

#define COLUMN_COMMANDS 20
#define COLUMN_OPTIONS 30
#define COLUMN_NARROW 6 /* of the explanation where the terminal is too narrow for two columns */
#define TEXT_LEAST 24

static void add_entry(struct text *t, const char *left, const char *right, int column, int width)
{
    int used = 2 + (int)utf8_columns(left);
    if (width < column + TEXT_LEAST)
        column = COLUMN_NARROW;
    text_addf(t, "  %s", left);
    if (used + 2 > column) {
        text_addf(t, "\n%*s", column, "");
        used = column;
    }
    text_addf(t, "%*s", column - used, "");
    text_add_wrapped(t, right, column, column, width);
}

void help_overview(struct text *t, int width)
{
    size_t n;
    const struct command *all = command_all(&n);
    text_add_wrapped(t,
                     "plateau turns the studies a molder runs on a new injection mold into a "
                     "process window, with the evidence behind every number.",
                     0, 0, width);
    text_add(t, "\nusage: plateau COMMAND [options]\n\ncommands\n");
    for (size_t i = 0; i < n; i++) {
        const char *argument = all[i].argument != NULL ? all[i].argument : "";
        add_entry(t, arena_printf(t->arena, "%s %s", all[i].name, argument), all[i].purpose,
                  COLUMN_COMMANDS, width);
    }
    text_add(t, "\noptions\n");
    add_entry(t, "--help", "this list; behind a command: its options", COLUMN_COMMANDS, width);
    add_entry(t, "--version", "the version of the program", COLUMN_COMMANDS, width);
    text_add(t, "\nstudies\n");
    const struct study *const *studies = study_all(&n);
    for (size_t i = 0; i < n; i++)
        add_entry(t, studies[i]->name, studies[i]->purpose, COLUMN_COMMANDS, width);
    text_add_char(t, '\n');
    text_add_wrapped(t,
                     "The results are advice to people who are qualified to set the press; the "
                     "makers' instructions and the rules of the site come first.",
                     0, 0, width);
}

void help_command(struct text *t, const struct command *c, int width)
{
    text_add(t, "usage: ");
    text_add_wrapped(t, command_usage(t->arena, c), 7, 9, width);
    text_add_char(t, '\n');
    text_add_wrapped(t, c->details, 0, 0, width);
    text_add_char(t, '\n');
    for (size_t i = 0; i < c->n_options; i++) {
        const struct option_spec *o = &c->options[i];
        const char *left = o->value == NULL ? o->name
                                            : arena_printf(t->arena, "%s %s", o->name,
                                                           o->words != NULL ? o->words : o->value);
        add_entry(t, left, o->purpose, COLUMN_OPTIONS, width);
    }
    add_entry(t, "--help", "this text", COLUMN_OPTIONS, width);
}

int command_help(struct invocation *inv)
{
    struct text t;
    text_init(&t, inv->arena);
    int width = terminal_width(inv->out);
    if (inv->argument == NULL) {
        help_overview(&t, width);
    } else {
        const struct command *c;
        struct error e = {.code = ERR_NONE};
        if (command_look_up(inv->arena, inv->argument, &c, &e) != ERR_NONE)
            return cli_fail(inv, &e);
        help_command(&t, c, width);
    }
    cli_print(inv, &t);
    return 0;
}
