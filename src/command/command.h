/*
 * One file per command, one sorted table (main.c). A handler gets what follows its name on the
 * command line (argv[0] is the command's own name), prints its result to standard output, its
 * faults as one line to standard error by command_fail, and returns the exit code: 0 done, 1 the
 * work failed, 2 wrong usage, 3 something is missing.
 */
#ifndef MIDTHROW_COMMAND_COMMAND_H
#define MIDTHROW_COMMAND_COMMAND_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fault.h"

struct command {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *about; /* one line for --help */
};

int command_balance(int argc, char **argv);
int command_check(int argc, char **argv);
int command_demo(int argc, char **argv);
int command_devices(int argc, char **argv);
int command_enrol(int argc, char **argv);
int command_export(int argc, char **argv);
int command_forget(int argc, char **argv);
int command_history(int argc, char **argv);
int command_import(int argc, char **argv);
int command_jobs(int argc, char **argv);
int command_learn(int argc, char **argv);
int command_listen(int argc, char **argv);
int command_profile(int argc, char **argv);
int command_report(int argc, char **argv);
int command_shop(int argc, char **argv);
int command_show(int argc, char **argv);
int command_torque(int argc, char **argv);
int command_why(int argc, char **argv);
int command_work(int argc, char **argv); /* no name given: start or resume a job */

/* Prints "midthrow: SENTENCE" to standard error and returns the fault's exit code. */
int command_fail(const struct fault *fault);

/* Did standard output take all that was printed? A full disk shows no earlier than here. */
bool command_printed(struct fault *fault);

/* Where prompts/, grammars/ and profiles/ live: $MIDTHROW_SHARE if set, else the source tree when
 * the program runs from a build tree of it, else share/midthrow beside the program's bin, else the
 * folder it was configured to be installed in. `room` is "grammars" or the
 * like. False with a sentence (exit code 3) when the folder is not there. */
bool command_shared(const char *room, char *out, size_t size, struct fault *fault);

/* Called once a command knows its files, before it reads any: from here on only the data directory
 * and the folders of the files that are to be written can be written to (guard/guard.h). NULL:
 * none. */
void command_confine(const char *data, const char *out, const char *other_out);

/* As command_confine for a command that writes no file: from here on these are read, files and what
 * is beneath folders, and nothing is written. NULL among them is passed over. */
void command_confine_reading(const char *const places[], size_t n);

/* "." of "page.html", "a" of "a/page.html"; false when it does not fit. */
bool command_folder_of(const char *path, char *out, size_t size);

#endif
