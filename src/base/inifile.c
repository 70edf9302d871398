/* INI files from outside: the bytes are checked here, the lines are taken apart by libinih, which
 * gets them one at a time from memory so that every complaint can name its line. */
#include "base/inifile.h"

#include <errno.h>
#include <fcntl.h>
#include <ini.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/utf8.h"

struct reading {
    const char *path;
    const char *at; /* what is left of the file */
    const char *end;
    const char *line; /* the line libinih has now, and its length without its end */
    size_t line_length;
    const char *buffer; /* libinih's copy of it, which section, key and value point into */
    int number;
    bool stopped;
    bool (*each)(void *context, const struct inifile_entry *entry, struct fault *fault);
    void *context;
    struct fault *fault;
};

static bool refuse_file(const char *path, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' %s", path, why);
}

/* Opens without waiting (a FIFO would wait for ever) and only what is a file of believable size. */
static int open_bounded(const char *path, size_t *size, struct fault *fault)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0) {
        enum fault_code code = errno == ENOENT ? FAULT_MISSING : FAULT_FAILED;
        fault_set(fault, code, "cannot read '%s': %s: check the name and its permissions.", path,
                  strerror(errno));
        return -1;
    }
    struct stat status;
    if (fstat(fd, &status) != 0 || !S_ISREG(status.st_mode))
        refuse_file(path, "is not a file: name an INI file.", fault);
    else if (status.st_size > INIFILE_BYTES)
        refuse_file(path, "is larger than 64 KiB: that is no file of midthrow's.", fault);
    else {
        *size = (size_t)status.st_size;
        return fd;
    }
    close(fd);
    return -1;
}

static char *read_bounded(const char *path, size_t *length, struct fault *fault)
{
    size_t size = 0;
    int fd = open_bounded(path, &size, fault);
    if (fd < 0)
        return NULL;
    char *bytes = malloc(size + 1);
    size_t used = 0;
    ssize_t got = 0;
    while (bytes != NULL && used < size && (got = read(fd, bytes + used, size - used)) != 0) {
        if (got < 0 && errno != EINTR)
            break;
        used += got > 0 ? (size_t)got : 0;
    }
    close(fd);
    if (bytes == NULL || got < 0) {
        fault_set(fault, FAULT_FAILED, "cannot read '%s': %s: try again.", path,
                  bytes == NULL ? "out of memory" : strerror(errno));
        free(bytes);
        return NULL;
    }
    bytes[used] = '\0';
    *length = used;
    return bytes;
}

static bool refuse_line(const char *path, int line, const char *why, struct fault *fault)
{
    return fault_set(fault, FAULT_FAILED, "'%s' line %d %s", path, line, why);
}

/* Everything libinih would take silently is refused here, before it sees a byte. */
static bool check_bytes(const char *path, const char *bytes, size_t length, struct fault *fault)
{
    static const uint32_t byte_order_mark = 0xFEFF; /* libinih passes over one at the start */
    int line = 1;
    size_t column = 0;
    for (size_t i = 0, n; i < length; i += n, column += n) {
        uint32_t point;
        n = utf8_next(bytes + i, length - i, &point);
        if (n == 0)
            return refuse_line(path, line, "is not UTF-8: save the file as UTF-8.", fault);
        if (point == '\n') {
            line++;
            column = (size_t)-1;
        } else if (point == '\r' && i + 1 < length && bytes[i + 1] == '\n') {
            continue;
        } else if ((point != '\t' && utf8_is_control(point)) ||
                   (point == byte_order_mark && i > 0)) {
            return refuse_line(path, line, "holds a control character: take it out.", fault);
        } else if (column + n > INIFILE_LINE) {
            return refuse_line(path, line, "is longer than 196 bytes: make it shorter.", fault);
        }
    }
    return true;
}

/* libinih's fgets. */
static char *next_line(char *buffer, int size, void *stream)
{
    struct reading *reading = stream;
    if (reading->stopped || reading->at >= reading->end || size < 2)
        return NULL;
    const char *newline = memchr(reading->at, '\n', (size_t)(reading->end - reading->at));
    const char *stop = newline == NULL ? reading->end : newline;
    reading->line = reading->at;
    reading->line_length = (size_t)(stop - reading->at);
    if (reading->line_length > 0 && stop[-1] == '\r')
        reading->line_length--;
    reading->at = newline == NULL ? reading->end : newline + 1;
    reading->number++;
    size_t fits = reading->line_length < (size_t)size - 1 ? reading->line_length : (size_t)size - 1;
    memcpy(buffer, reading->line, fits);
    buffer[fits] = '\0';
    reading->buffer = buffer;
    return buffer;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* The value is the line's end unless libinih cut a comment off. */
static bool has_comment(const struct reading *reading, const char *value)
{
    size_t length = reading->line_length;
    while (length > 0 && is_blank(reading->line[length - 1]))
        length--;
    size_t wanted = strlen(value);
    return wanted > length || memcmp(reading->line + length - wanted, value, wanted) != 0;
}

/* Of a line that continues the one before, libinih makes all of it the value. An indented line that
 * follows a section's heading continues nothing and is taken as a key of its own. */
static bool is_continued(const struct reading *reading, const char *value)
{
    return value == reading->buffer + strspn(reading->buffer, " \t");
}

static int take_entry(void *user, const char *section, const char *key, const char *value)
{
    struct reading *reading = user;
    if (reading->stopped)
        return 0;
    const struct inifile_entry entry = {
        .path = reading->path,
        .section = section,
        .key = key,
        .value = value,
        .line = reading->number,
        .continued = is_continued(reading, value),
        .commented = has_comment(reading, value),
    };
    if (strlen(section) > INIFILE_NAME || strlen(key) > INIFILE_NAME)
        reading->stopped = !refuse_line(reading->path, reading->number,
                                        "has a section or key of more than 48 letters: shorten it.",
                                        reading->fault);
    else
        reading->stopped = !reading->each(reading->context, &entry, reading->fault);
    return reading->stopped ? 0 : 1;
}

bool inifile_read(const char *path,
                  bool (*each)(void *context, const struct inifile_entry *entry,
                               struct fault *fault),
                  void *context, struct fault *fault)
{
    size_t length = 0;
    char *bytes = read_bounded(path, &length, fault);
    if (bytes == NULL)
        return false;
    bool ok = check_bytes(path, bytes, length, fault);
    if (ok) {
        struct reading reading = {.path = path,
                                  .at = bytes,
                                  .end = bytes + length,
                                  .each = each,
                                  .context = context,
                                  .fault = fault};
        int bad_line = ini_parse_stream(next_line, &reading, take_entry, &reading);
        ok = !reading.stopped && bad_line == 0;
        if (!reading.stopped && bad_line != 0)
            refuse_line(path, bad_line, "is neither '[section]' nor 'key = value': mend it.",
                        fault);
    }
    free(bytes);
    return ok;
}
