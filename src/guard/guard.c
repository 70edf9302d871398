/* What is taken from the process, and when: see guard.h. */
#include "guard/guard.h"

#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>

#include "guard/inside.h"

static struct guard_state state;
static bool begun;

void guard_begin(void)
{
    const char *wish = getenv("MIDTHROW_GUARD");
    if (begun || (wish != NULL && strcmp(wish, "off") == 0))
        return;
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
