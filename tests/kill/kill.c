/* Kills midthrow in the middle of a job, over and over, and has it go on:
 *     kill MIDTHROW SHIM KILLS SEED      at drawn writes, torn ones among them, and at drawn
 * moments kill MIDTHROW SHIM every SEED      once before each write, and once in the middle of it
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench.h"

/* One job after another, each killed until it comes to its end. Half of the kills are at the n-th
 * write from the start, n small enough that a job sees several; half at a moment of the time that
 * the undisturbed run took. */
static void drawn(struct bench *bench, long kills, uint64_t seed)
{
    long jobs = 0;
    for (; bench->kills < kills; jobs++) {
        bench_fresh(bench);
        while (bench->kills < kills && bench->heard < bench->script.n) {
            struct trouble trouble = {.in_order = true};
            if (bench_draw(&seed, 2) == 0)
                trouble.after_us = 1 + (long)bench_draw(&seed, (uint64_t)bench->us);
            else
                trouble.kill = 1 + (long)bench_draw(&seed, (uint64_t)bench->calls / 2);
            trouble.torn = bench_draw(&seed, 3) == 0;
            struct end end = bench_run(bench, &trouble);
            if (!end.killed && end.code != 0)
                bench_wrong(bench, "it failed: %s", end.err);
        }
        bench_finish(bench);
    }
    printf("%ld kills in %ld jobs of %zu answers: no acknowledged answer lost, every end the same; "
           "%ld cautions confirmed again\n",
           bench->kills, jobs, bench->script.n, bench->confirmed_again);
}

static void every(struct bench *bench)
{
    for (long at = 1; at <= bench->calls; at++)
        for (int torn = 0; torn < 2; torn++) {
            const struct trouble trouble = {.kill = at, .torn = torn == 1, .in_order = true};
            bench_fresh(bench);
            if (!bench_run(bench, &trouble).killed)
                bench_wrong(bench, "it was not killed at call %ld", at);
            bench_finish(bench);
        }
    printf("%ld kills, at each of %ld writes: no acknowledged answer lost, every end the same\n",
           bench->kills, bench->calls);
}

int main(int argc, char **argv)
{
    static struct bench bench;
    if (argc != 5)
        return 2;
    uint64_t seed = strtoull(argv[4], NULL, 10);
    bench_begin(&bench, argv[1], argv[2], seed);
    if (strcmp(argv[3], "every") == 0)
        every(&bench);
    else
        drawn(&bench, strtol(argv[3], NULL, 10), seed);
    bench_end(&bench);
    return 0;
}
