/*
 * SPEECH_VECTORS before a function whose time matters: it is compiled twice, once for processors
 * with 256-bit vectors, and the right one is taken when the program starts. Its arithmetic must not
 * depend on which: no fused multiply-add is asked for, so the same sound gets the same answer
 * everywhere. Elsewhere (other processors, other compilers) it is nothing.
 *
 * Where GCC's address sanitizer builds them these few loops are left as they are: watched, they
 * take six times as long (test-speech-phonetic: 20 s for 3), most of what all tests take together.
 * What they are given is watched where it is made; clang's builds, which fuzz, watch them too.
 */
#ifndef MIDTHROW_SPEECH_VECTOR_H
#define MIDTHROW_SPEECH_VECTOR_H

#if defined(__SANITIZE_ADDRESS__)
#define SPEECH_VECTORS __attribute__((no_sanitize("address", "undefined")))
#elif defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define SPEECH_VECTORS __attribute__((target_clones("avx2", "default")))
#else
#define SPEECH_VECTORS
#endif

#endif
