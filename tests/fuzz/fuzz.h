/*
 * The fuzzing harness: one target a file, each a LLVMFuzzerTestOneInput as libFuzzer and AFL++ want
 * it. replay.c gives the same targets a main() that runs kept inputs without either.
 *
 * A target hands bytes from outside to one reader and checks what the reader promises; a broken
 * promise is an abort, so that it is found like a crash.
 */
#ifndef MIDTHROW_TESTS_FUZZ_FUZZ_H
#define MIDTHROW_TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Aborts, saying what was promised. */
#define FUZZ_PROMISED(condition) fuzz_promised(condition, #condition, __FILE__, __LINE__)
void fuzz_promised(int holds, const char *what, const char *file, int line);

/* The bytes as text: to the first zero, terminated, in a buffer of exactly that size, so that the
 * sanitizer sees one byte too far. The caller frees it. */
char *fuzz_text(const uint8_t *data, size_t size);

/* A file in memory with these bytes; good until the next one. */
const char *fuzz_file(const uint8_t *data, size_t size);

/* A folder of this process's own, made once, in memory where there is such a place; what is in it
 * is removed at exit. */
const char *fuzz_folder(void);

#endif
