/* What every command needs: errors on one line, and the folders the program came with. */
#include "command/command.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/text.h"

int command_fail(const struct fault *fault)
{
    fprintf(stderr, "midthrow: %s\n", fault->sentence);
    return fault->code == FAULT_NONE ? FAULT_FAILED : (int)fault->code;
}

/* Where the source tree keeps a room's shared files when not in a folder of that name at its top.
 */
static const char *source_folder(const char *room)
{
    return strcmp(room, "profiles") == 0 ? "src/profile/shipped" : room;
}

static bool is_folder(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

bool command_shared(const char *room, char *out, size_t size, struct fault *fault)
{
    const char *own = getenv("MIDTHROW_SHARE");
    const char *const places[] = {own, MIDTHROW_SHARED_DIR, MIDTHROW_SOURCE_DIR};
    for (size_t i = own != NULL && own[0] != '\0' ? 0 : 1; i < sizeof places / sizeof places[0];
         i++) {
        struct text path = text_into(out, size);
        text_addf(&path, "%s/%s", places[i], i == 2 ? source_folder(room) : room);
        if (!path.cut && is_folder(out))
            return true;
        if (i == 0)
            break; /* a folder that was named but is not there is an error, not a hint */
    }
    return fault_set(fault, FAULT_MISSING,
                     "cannot find the folder '%s': install midthrow, or set MIDTHROW_SHARE to the "
                     "folder that holds it.",
                     room);
}
