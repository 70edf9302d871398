/* Which profiles there are: the shop's own first, then those midthrow came with. */
#include <dirent.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "profile/profile.h"

enum { PATH_SIZE = 4096 };

bool profile_is_name(const char *name)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.";
    size_t length = strlen(name);
    return length > 0 && length < PROFILE_NAME && name[0] != '.' &&
           name[strspn(name, plain)] == '\0';
}

/* NAME of NAME.ini. */
static bool take_name(const char *file, char name[PROFILE_NAME])
{
    size_t length = strlen(file);
    if (length < 5 || length - 4 >= PROFILE_NAME || strcmp(file + length - 4, ".ini") != 0)
        return false;
    memcpy(name, file, length - 4);
    name[length - 4] = '\0';
    return profile_is_name(name);
}

/* Sorted, each name once; when it is full the last of the alphabet goes. */
struct list {
    char (*name)[PROFILE_NAME];
    size_t n;
    size_t most;
};

static void insert(struct list *list, const char *name)
{
    size_t at = 0;
    while (at < list->n && strcmp(list->name[at], name) < 0)
        at++;
    if (at >= list->most || (at < list->n && strcmp(list->name[at], name) == 0))
        return;
    if (list->n < list->most)
        list->n++;
    memmove(list->name[at + 1], list->name[at], (list->n - 1 - at) * sizeof list->name[0]);
    text_copy(list->name[at], PROFILE_NAME, name);
}

static void collect(const char *directory, struct list *list)
{
    DIR *folder = directory == NULL ? NULL : opendir(directory);
    if (folder == NULL)
        return;
    const struct dirent *file;
    while ((file = readdir(folder)) != NULL) {
        char name[PROFILE_NAME];
        if (take_name(file->d_name, name))
            insert(list, name);
    }
    closedir(folder);
}

static bool holds(const struct list *list, const char *name)
{
    for (size_t i = 0; i < list->n; i++)
        if (strcmp(list->name[i], name) == 0)
            return true;
    return false;
}

size_t profile_names(const char *own_dir, const char *shared_dir,
                     char names[PROFILES_MAX][PROFILE_NAME])
{
    char shared_names[PROFILES_MAX][PROFILE_NAME];
    struct list own = {.name = names, .most = PROFILES_MAX};
    struct list shared = {.name = shared_names, .most = PROFILES_MAX};
    collect(own_dir, &own);
    collect(shared_dir, &shared);
    for (size_t i = 0; i < shared.n && own.n < PROFILES_MAX; i++)
        if (!holds(&own, shared.name[i]))
            insert(&own, shared.name[i]);
    return own.n;
}

static bool refuse_unknown(const char *name, const char *own_dir, const char *shared_dir,
                           struct fault *fault)
{
    char names[PROFILES_MAX][PROFILE_NAME];
    size_t n = profile_names(own_dir, shared_dir, names);
    char list[PROFILES_MAX * (PROFILE_NAME + 2)];
    struct text text = text_into(list, sizeof list);
    for (size_t i = 0; i < n; i++)
        text_addf(&text, "%s%s", i == 0 ? "" : ", ", names[i]);
    if (n == 0)
        return fault_set(fault, FAULT_MISSING,
                         "there are no profiles at all: install midthrow, or set MIDTHROW_SHARE to "
                         "the folder that holds them.");
    if (!profile_is_name(name))
        return fault_set(fault, FAULT_USAGE,
                         "that is no profile's name: use letters, figures, - and _, or one of: %s.",
                         list);
    return fault_set(fault, FAULT_USAGE, "there is no profile '%s': use one of: %s.", name, list);
}

bool profile_path(const char *name, const char *own_dir, const char *shared_dir, char *out,
                  size_t size, struct fault *fault)
{
    const char *const folders[] = {own_dir, shared_dir};
    for (size_t i = 0; i < 2 && profile_is_name(name); i++) {
        struct text text = text_into(out, size);
        text_addf(&text, "%s/%s.ini", folders[i] == NULL ? "" : folders[i], name);
        if (folders[i] != NULL && !text.cut && access(out, F_OK) == 0)
            return true;
    }
    return refuse_unknown(name, own_dir, shared_dir, fault);
}

bool profile_find(const char *name, const char *own_dir, const char *shared_dir,
                  struct profile *profile, struct fault *fault)
{
    char path[PATH_SIZE];
    return profile_path(name, own_dir, shared_dir, path, sizeof path, fault) &&
           profile_load(path, profile, fault);
}
