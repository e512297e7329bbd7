/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "commands.h"

static const struct option_spec analyze_options[] = {
    {"--color", "WHEN", "auto|always|never",
     "emphasis by bold and dim type: auto (on a terminal, unless NO_COLOR is set), always, never"},
    {"--json", NULL, NULL, "print the record on standard output in place of the answer in words"},
    {"--out", "DIR", NULL,
     "write the report into DIR (default: report in the trial folder, or STEM-report beside a "
     "single CSV file)"},
    {"--quiet", NULL, NULL, "print nothing unless something is wrong; the report is written"},
    {"--require", "VERDICT", "met",
     "exit status 1 unless every criterion is met, for use in scripts"},
};

static const struct option_spec new_options[] = {
    {"--decimal", "MARK", "comma|point",
     "the decimal mark of the spreadsheet in which the tables will be filled in; every table says "
     "it, "
     "and --from enters its settings with it. Needed where all readings have three decimals"},
    {"--from", "RECORD", NULL,
     "a short trial after a change of material lot: mold, press, criteria and aims from this "
     "record.json, entry tables for at most 18 shots"},
};

static const struct option_spec verify_options[] = {
    {"--all", NULL, NULL, "list every value that differs, not the first forty only"},
    {"--quiet", NULL, NULL, "print nothing unless something is wrong; the exit status tells"},
    {"--self", NULL, NULL,
     "check this installation: compute the built-in trial and compare it with the record that was "
     "made when the program was built"},
    {"--trial", "PATH", NULL,
     "the trial the record was made from (default: where the record's folder lies)"},
};

static const struct command commands[] = {
    {"analyze", "PATH", "work out the window of a trial and write the report",
     "PATH is a trial folder or a single CSV file named after its study. The answer goes to "
     "standard output; index.html, record.json and the figures go into the report folder. The "
     "verdicts do not change the exit status unless --require asks for it.",
     analyze_options, PL_COUNT(analyze_options), command_analyze},
    {"check", "PATH", "read a trial, say how it was read and what is wrong; compute nothing",
     "PATH is a trial folder or a single CSV file named after its study. Every problem of every "
     "file is named with its place and how to mend it. Nothing is written.",
     NULL, 0, command_check},
    {"explain", "[CODE]", "what a flag, message, criterion, column or key means",
     "CODE is a word that the program printed or that stands in an input file: the code of a flag "
     "or of a message, a criterion, a study, a column, a key of trial.ini. Without CODE: the list "
     "of all of them.",
     NULL, 0, command_explain},
    {"help", "[COMMAND]", "the list of commands, or more about one",
     "Without COMMAND: what the commands are. With it: its options.", NULL, 0, command_help},
    {"new", "DIR", "make a blank trial: trial.ini and an entry table per study",
     "Makes the folder DIR if it is not there, and in it a trial.ini in which every key stands as "
     "a comment, and one empty table per study to be filled in at the press. A file that is there "
     "already is never touched. With --from, a short trial made from an earlier record.",
     new_options, PL_COUNT(new_options), command_new},
    {"verify", "[RECORD]", "compute a record again from its inputs and say what differs",
     "RECORD is a record.json. The trial it was made from is read and computed again: the same "
     "bytes, the same findings to ten digits, or a list of every value that differs. Of a record "
     "that is the same byte for byte, page and figures beside it are compared as well. Exit status "
     "0 when nothing differs, 1 when something does. Nothing is written.",
     verify_options, PL_COUNT(verify_options), command_verify},
};

const struct command *command_all(size_t *n)
{
    *n = PL_COUNT(commands);
    return commands;
}

const char *command_usage(struct arena *a, const struct command *c)
{
    struct text t;
    text_init(&t, a);
    text_addf(&t, "plateau %s", c->name);
    if (c->argument != NULL)
        text_addf(&t, " %s", c->argument);
    for (size_t i = 0; i < c->n_options; i++) {
        const struct option_spec *o = &c->options[i];
        text_addf(&t, " [%s", o->name);
        if (o->value != NULL)
            text_addf(&t, " %s", o->words != NULL ? o->words : o->value);
        text_add(&t, "]");
    }
    return t.s;
}

const char *options_value(const struct invocation *inv, const char *name)
{
    const struct command *c = inv->command;
    for (size_t i = 0; i < c->n_options; i++)
        if (strcmp(c->options[i].name, name) == 0)
            return inv->values[i];
    return NULL;
}

/* ---- messages ------------------------------------------------------------------------------- */

enum errc command_look_up(struct arena *a, const char *name, const struct command **out,
                          struct error *e)
{
    const char *names[PL_COUNT(commands)];
    struct text list;
    text_init(&list, a);
    for (size_t i = 0; i < PL_COUNT(commands); i++) {
        names[i] = commands[i].name;
        text_addf(&list, "%s%s", i > 0 ? ", " : "", names[i]);
        if (strcmp(names[i], name) == 0) {
            *out = &commands[i];
            return ERR_NONE;
        }
    }
    const char *near = text_nearest(name, names, PL_COUNT(commands));
    name = cli_quote(a, name);
    if (near != NULL)
        return ERR_SET(e, ERR_USAGE, "there is no command '%s'; did you mean '%s'?", name, near);
    return ERR_SET(e, ERR_USAGE, "there is no command '%s'; the commands are %s", name, list.s);
}

static const struct command *owner_of(const char *option)
{
    for (size_t i = 0; i < PL_COUNT(commands); i++)
        for (size_t j = 0; j < commands[i].n_options; j++)
            if (strcmp(commands[i].options[j].name, option) == 0)
                return &commands[i];
    return NULL;
}

static enum errc unknown_option(struct invocation *inv, const char *word, struct error *e)
{
    const struct command *c = inv->command, *owner = owner_of(word);
    const char *names[OPTIONS_MAX + 1];
    struct text list;
    text_init(&list, inv->arena);
    for (size_t i = 0; i < c->n_options; i++) {
        names[i] = c->options[i].name;
        text_addf(&list, "%s, ", names[i]);
    }
    names[c->n_options] = "--help";
    text_add(&list, "--help");
    const char *near = text_nearest(word, names, c->n_options + 1);
    word = cli_quote(inv->arena, word);
    if (owner != NULL)
        return ERR_SET(e, ERR_USAGE, "%s has no option '%s'; that one belongs to %s", c->name, word,
                       owner->name);
    if (near != NULL)
        return ERR_SET(e, ERR_USAGE, "%s has no option '%s'; did you mean '%s'?", c->name, word,
                       near);
    return ERR_SET(e, ERR_USAGE, "%s has no option '%s'; it takes %s", c->name, word, list.s);
}

/* ---- parsing -------------------------------------------------------------------------------- */

static bool is_one_of(const char *words, const char *value)
{
    size_t n = strlen(value);
    for (const char *p = words; n > 0 && p != NULL; p = strchr(p, '|'), p += p != NULL)
        if (strncmp(p, value, n) == 0 && (p[n] == '|' || p[n] == '\0'))
            return true;
    return false;
}

/* `attached` is what stands behind "=", or NULL. Takes the following word where one is needed. */
static enum errc take_option(struct invocation *inv, const char *name, const char *attached,
                             char ***next, struct error *e)
{
    const struct command *c = inv->command;
    size_t i = 0;
    while (i < c->n_options && strcmp(c->options[i].name, name) != 0)
        i++;
    if (i == c->n_options)
        return unknown_option(inv, name, e);
    const struct option_spec *o = &c->options[i];
    if (inv->values[i] != NULL)
        return ERR_SET(e, ERR_USAGE, "option '%s' is given twice", o->name);
    if (o->value == NULL) {
        if (attached != NULL)
            return ERR_SET(e, ERR_USAGE, "option '%s' takes no value", o->name);
        inv->values[i] = "";
        return ERR_NONE;
    }
    const char *value = attached != NULL ? attached : *(*next);
    if (attached == NULL && value != NULL)
        (*next)++;
    if (value == NULL || value[0] == '\0')
        return ERR_SET(e, ERR_USAGE, "option '%s' needs a value: %s", o->name,
                       o->words != NULL ? o->words : o->value);
    if (o->words != NULL && !is_one_of(o->words, value))
        return ERR_SET(e, ERR_USAGE, "option '%s' takes %s, not '%s'", o->name, o->words,
                       cli_quote(inv->arena, value));
    inv->values[i] = value;
    return ERR_NONE;
}

static enum errc take_argument(struct invocation *inv, const char *word, struct error *e)
{
    const struct command *c = inv->command;
    if (c->argument == NULL || inv->argument != NULL)
        return ERR_SET(e, ERR_USAGE, "'%s' is one word too many; usage: %s",
                       cli_quote(inv->arena, word), command_usage(inv->arena, c));
    inv->argument = word;
    return ERR_NONE;
}

static enum errc find_command(struct invocation *inv, const char *word, bool *help, struct error *e)
{
    if (word == NULL)
        return ERR_SET(e, ERR_USAGE, "no command is given; 'plateau help' lists the commands");
    if (strcmp(word, "--help") == 0) {
        *help = true;
        return ERR_NONE;
    }
    if (word[0] == '-')
        return ERR_SET(e, ERR_USAGE,
                       "the command comes first, then its options; '%s' is no command. "
                       "'plateau help' lists the commands",
                       cli_quote(inv->arena, word));
    return command_look_up(inv->arena, word, &inv->command, e);
}

enum errc options_parse(struct invocation *inv, int argc, char **argv, bool *help, struct error *e)
{
    bool only_arguments = false;
    *help = false;
    TRY(find_command(inv, argc > 1 ? argv[1] : NULL, help, e));
    if (*help)
        return ERR_NONE;
    for (char **next = argv + 2; *next != NULL;) {
        char *word = *next++;
        if (!only_arguments && strcmp(word, "--") == 0) {
            only_arguments = true;
        } else if (!only_arguments && word[0] == '-' && word[1] != '\0') {
            if (strcmp(word, "--help") == 0) {
                *help = true;
                return ERR_NONE;
            }
            char *equals = strchr(word, '=');
            const char *name =
                equals != NULL ? arena_copy_n(inv->arena, word, (size_t)(equals - word)) : word;
            TRY(take_option(inv, name, equals != NULL ? equals + 1 : NULL, &next, e));
        } else {
            TRY(take_argument(inv, word, e));
        }
    }
    const struct command *c = inv->command;
    bool missing = inv->argument == NULL || inv->argument[0] == '\0';
    if (missing && c->argument != NULL && c->argument[0] != '[')
        return ERR_SET(e, ERR_USAGE, "%s needs %s; usage: %s", c->name, c->argument,
                       command_usage(inv->arena, c));
    return ERR_NONE;
}
