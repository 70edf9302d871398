/* Writes input events to standard output, as a pad would send them, for tests of the program:
 *     play '5/16' > FIFO      keys 0-9 . / * - + and newlines, which are Enter
 */
#include <stdio.h>

#include "stream.h"

int main(int argc, char **argv)
{
    static struct stream stream;
    for (int i = 1; i < argc; i++)
        stream_type(&stream, argv[i]);
    return fwrite(stream.event, sizeof stream.event[0], stream.n, stdout) == stream.n ? 0 : 1;
}
