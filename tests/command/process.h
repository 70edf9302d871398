/*
 * A command as its user meets it: a process with arguments, two streams and an exit code. With
 * cmocka and jansson, and what the tests of several commands check alike.
 */
#ifndef MIDTHROW_TESTS_PROCESS_H
#define MIDTHROW_TESTS_PROCESS_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>

struct run {
    int code;
    char out[8192], err[2048]; /* terminated; longer output is cut */
};

/* Runs `program command` with the words of `line`, split at spaces; quotes are not understood. */
struct run process_run(const char *program, const char *command, const char *line);

void assert_says(const char *text, const char *part);

/* Wrong usage: exit code 2, nothing on standard output, one line that says what to do. */
void assert_wrong_usage(const struct run *run, const char *says);

/* Done, nothing on standard error, and standard output one JSON value: the caller's to release. */
json_t *json_of_run(const struct run *run);
double number_at(const json_t *json, const char *key);
void assert_near(double actual, double expected, double within);

#endif
