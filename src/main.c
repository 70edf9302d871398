/* The command table, options, exit codes. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command/command.h"
#include "guard/guard.h"

/* Sorted by name. */
static const struct command commands[] = {
    {"balance", command_balance, "are two throws equal? the figures, at the desk"},
    {"check", command_check, "is this station fit? sound, pad, model, disk, clock; a practice"},
    {"demo", command_demo, "a whole job by ear, from recordings, without a sound card"},
    {"devices", command_devices, "the microphones, speakers and number pads there are"},
    {"enrol", command_enrol, "learn a person's voice from sentences read aloud"},
    {"export", command_export, "jobs into a file, for another station"},
    {"forget", command_forget, "erase a rider's name for good"},
    {"history", command_history, "the jobs on one bike"},
    {"import", command_import, "jobs of another station, none of them twice"},
    {"jobs", command_jobs, "list the jobs"},
    {"learn", command_learn, "what the closed jobs taught: show, export or forget it"},
    {"listen", command_listen, "recognise recordings, without a job"},
    {"profile", command_profile, "a bike's numbers from its manual: make, check, list, show"},
    {"report", command_report, "a job's write-up as text, page, JSON, transcript or captions"},
    {"shop", command_shop, "the shop's figures: cures by cause, times, first-time fixes"},
    {"show", command_show, "a job's write-up"},
    {"torque", command_torque, "what to set a torque wrench with an adapter to"},
    {"why", command_why, "what a job's answers say it may be, and because of what"},
    {"work", command_work, "start a job, or go on with one: the same as without a command"},
};
enum { COMMANDS = sizeof commands / sizeof commands[0] };

/* Fits a screen of 24 lines: the options of the job itself are with 'work'. */
static int help(void)
{
    puts("usage: midthrow [OPTION]...            start a job, or go on with one\n"
         "       midthrow COMMAND [OPTION]...    'midthrow COMMAND --help' tells more\n");
    for (size_t i = 0; i < COMMANDS; i++)
        printf("  %-10s %s\n", commands[i].name, commands[i].about);
    puts("  --version  the version");
    return FAULT_NONE;
}

int main(int argc, char **argv)
{
    guard_begin();
    /* sphinxbase would look there for what a grammar imports, not beside it, and free it twice. */
    unsetenv("JSGF_PATH");
    if (argc > 1 && (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0))
        return help();
    if (argc > 1 && strcmp(argv[1], "--version") == 0) {
        puts("midthrow " MIDTHROW_VERSION);
        return FAULT_NONE;
    }
    for (size_t i = 0; argc > 1 && i < COMMANDS; i++)
        if (strcmp(argv[1], commands[i].name) == 0)
            return commands[i].run(argc - 1, argv + 1);
    return command_work(argc, argv);
}
