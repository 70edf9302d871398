/* What every command needs: errors on one line, and the folders the program came with. */
#include "command/command.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/plain.h"
#include "base/text.h"
#include "guard/guard.h"

enum { PATH_SIZE = 4096 };

int command_fail(const struct fault *fault)
{
    fputs("midthrow: ", stderr);
    plain_print(stderr, fault->sentence); /* names of files, and what is in them */
    fputc('\n', stderr);
    return fault->code == FAULT_NONE ? FAULT_FAILED : (int)fault->code;
}

bool command_printed(struct fault *fault)
{
    return (fflush(stdout) == 0 && ferror(stdout) == 0) ||
           fault_set(fault, FAULT_FAILED,
                     "cannot write the result (%s): make room, or write it somewhere else.",
                     strerror(errno));
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

/* Beside the program, PREFIX/share for PREFIX/bin: an installed tree may have been moved. */
static bool beside_program(const char *room, char *out, size_t size)
{
    char self[4096];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    struct text path = text_into(out, size);
    for (int up = 0; up < 2 && length > 0; up++) {
        while (length > 0 && self[length - 1] != '/')
            length--;
        length -= length > 0;
    }
    if (length < 0)
        return false;
    text_add_n(&path, self, (size_t)length);
    text_addf(&path, "/share/midthrow/%s", room);
    return !path.cut && is_folder(out);
}

/* Does this program run from the build tree it was made in? Then the sources' own folders are the
 * ones it was made with, whatever else is installed. */
static bool runs_from_build_tree(void)
{
    char self[4096];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    size_t build = strlen(MIDTHROW_BUILD_DIR);
    if (length < 0 || (size_t)length <= build)
        return false;
    return strncmp(self, MIDTHROW_BUILD_DIR, build) == 0 && self[build] == '/';
}

bool command_shared(const char *room, char *out, size_t size, struct fault *fault)
{
    const char *own = getenv("MIDTHROW_SHARE");
    struct text path = text_into(out, size);
    if (own != NULL && own[0] != '\0')
        text_addf(&path, "%s/%s", own, room);
    else if (runs_from_build_tree())
        text_addf(&path, "%s/%s", MIDTHROW_SOURCE_DIR, source_folder(room));
    else if (beside_program(room, out, size))
        return true;
    else
        text_addf(&path, "%s/%s", MIDTHROW_SHARED_DIR, room);
    if (!path.cut && is_folder(out))
        return true;
    return fault_set(fault, FAULT_MISSING,
                     "cannot find the folder '%s': install midthrow, or set MIDTHROW_SHARE to the "
                     "folder that holds it.",
                     room);
}

bool command_folder_of(const char *path, char *out, size_t size)
{
    bool fits = text_copy(out, size, path);
    char *slash = strrchr(out, '/');
    if (slash == NULL)
        return text_copy(out, size, ".");
    slash[slash == out ? 1 : 0] = '\0';
    return fits;
}

void command_confine(const char *data, const char *out, const char *other_out)
{
    char prompts[PATH_SIZE], out_folder[PATH_SIZE], other_folder[PATH_SIZE];
    const bool has_prompts = command_shared("prompts", prompts, sizeof prompts, NULL);
    const bool has_out = out != NULL && command_folder_of(out, out_folder, sizeof out_folder);
    const bool has_other =
        other_out != NULL && command_folder_of(other_out, other_folder, sizeof other_folder);
    const struct guard_place places[] = {
        {data, GUARD_KEEP},
        {has_prompts ? prompts : NULL, GUARD_READ},
        {has_out ? out_folder : NULL, GUARD_KEEP},
        {has_other ? other_folder : NULL, GUARD_KEEP},
    };
    guard_files(places, sizeof places / sizeof places[0]);
}

void command_confine_reading(const char *const places[], size_t n)
{
    struct guard_place *read = calloc(n, sizeof *read);
    for (size_t i = 0; read != NULL && i < n; i++)
        read[i] = (struct guard_place){places[i], GUARD_READ};
    guard_files(read, read != NULL ? n : 0); /* without memory for them none is read */
    free(read);
}
