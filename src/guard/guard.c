/* What is taken from the process, and when: see guard.h. */
#define _GNU_SOURCE /* RTLD_DEFAULT */
#include "guard/guard.h"

#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>

#include "guard/inside.h"

static struct guard_state state;
static bool begun;

/* sphinxbase brings BLAS along, and where that is OpenBLAS it has a thread a processor waiting
 * before main begins, which neither half would hold. Ended here; one that is needed later is
 * started then, and held. By name, for any other BLAS has no such function. */
static void end_threads_of_libraries(void)
{
    int (*end)(void) = NULL;
    *(void **)&end = dlsym(RTLD_DEFAULT, "blas_thread_shutdown_"); /* as in audio/quiet.c */
    if (end != NULL)
        end();
}

void guard_begin(void)
{
    const char *wish = getenv("MIDTHROW_GUARD");
    if (begun || (wish != NULL && strcmp(wish, "off") == 0))
        return;
    end_threads_of_libraries();
    /* both ask for it (seccomp(2), landlock(7)): no program could get rights back by being run */
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0)
        return;
    begun = true;
    state.calls = guard_calls();
}

void guard_files(const struct guard_place *places, size_t n)
{
    if (begun && state.landlock == 0)
        state.landlock = guard_landlock(places, n);
}

struct guard_state guard_state(void)
{
    return state;
}
