/* Runs a fuzzing target over kept inputs, files or folders of them: the same every time, with any
 * compiler. */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"

static int run_file(const char *path)
{
    enum { INPUT_MAX = 1 << 20 };
    static uint8_t data[INPUT_MAX];
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        return 1;
    }
    size_t size = fread(data, 1, sizeof data, file);
    fclose(file);
    uint8_t *exact = malloc(size > 0 ? size : 1);
    if (exact == NULL)
        return 1;
    memcpy(exact, data, size);
    LLVMFuzzerTestOneInput(exact, size);
    free(exact);
    return 0;
}

int main(int argc, char **argv)
{
    int inputs = 0, failed = 0;
    for (int i = 1; i < argc; i++) {
        DIR *folder = opendir(argv[i]);
        if (folder == NULL) {
            failed += run_file(argv[i]);
            inputs++;
            continue;
        }
        for (const struct dirent *entry; (entry = readdir(folder)) != NULL;) {
            char path[4096];
            if (entry->d_name[0] == '.')
                continue;
            snprintf(path, sizeof path, "%s/%s", argv[i], entry->d_name);
            failed += run_file(path);
            inputs++;
        }
        closedir(folder);
    }
    printf("%d inputs\n", inputs);
    return failed > 0 || inputs == 0;
}
