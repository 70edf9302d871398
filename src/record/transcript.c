/* The transcript, a line an event: see transcript.h for its format. */
#include "record/transcript.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/plain.h"
#include "base/text.h"
#include "record/figure.h"
#include "record/store.h"

enum { VALUE = 512 };

struct transcript {
    int fd;
    char path[STORE_PATH];
};

void transcript_time(int64_t at_ms, char out[32])
{
    int64_t seconds = at_ms / 1000;
    int64_t rest = at_ms % 1000;
    if (rest < 0) {
        rest += 1000;
        seconds--;
    }
    time_t when = (time_t)seconds;
    struct tm utc;
    struct text text = text_into(out, 32);
    if (gmtime_r(&when, &utc) == NULL) {
        text_addf(&text, "%lld ms", (long long)at_ms);
        return;
    }
    text_addf(&text, "%04lld-%02d-%02dT%02d:%02d:%02d.%03dZ", utc.tm_year + 1900LL, utc.tm_mon + 1,
              utc.tm_mday, utc.tm_hour, utc.tm_min, utc.tm_sec, (int)rest);
}

/* ---- the file ----------------------------------------------------------------------------------
 */

bool transcript_path(const char *directory, int64_t number, char *out, size_t size)
{
    char path[STORE_PATH];
    return store_path(directory, "job-%lld.txt", number, path, NULL) && text_copy(out, size, path);
}

struct transcript *transcript_open(const char *directory, int64_t number, struct fault *fault)
{
    struct transcript *transcript = calloc(1, sizeof *transcript);
    if (transcript == NULL) {
        fault_set(fault, FAULT_FAILED, "out of memory: close something and try again.");
        return NULL;
    }
    transcript->fd = -1;
    if (store_make_directory(directory, fault) &&
        store_path(directory, "job-%lld.txt", number, transcript->path, fault))
        transcript->fd = store_open(transcript->path, O_APPEND, fault);
    if (transcript->fd >= 0)
        return transcript;
    free(transcript);
    return NULL;
}

void transcript_close(struct transcript *transcript)
{
    if (transcript == NULL)
        return;
    close(transcript->fd);
    free(transcript);
}

static bool write_all(int fd, const char *bytes, size_t n)
{
    while (n > 0) {
        ssize_t written = write(fd, bytes, n);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return false;
        bytes += written;
        n -= (size_t)written;
    }
    return true;
}

static bool write_line(struct transcript *transcript, const char *line, struct fault *fault)
{
    struct stat before;
    bool known = fstat(transcript->fd, &before) == 0;
    if (write_all(transcript->fd, line, strlen(line)))
        return true;
    int error = errno;
    int cut = known ? ftruncate(transcript->fd, before.st_size) : -1;
    (void)cut; /* half a line that stays is mended with the next resume */
    bool full = error == ENOSPC || error == EDQUOT || error == EFBIG;
    return fault_set(fault, FAULT_FAILED, "cannot write the transcript '%s': %s.", transcript->path,
                     full ? "the disk is full: free some space there, then go on"
                          : strerror(error));
}

/* ---- lines ---------------------------------------------------------------------------------- */

static void begin(struct text *line, int64_t at_ms, const char *who)
{
    char at[32];
    transcript_time(at_ms, at);
    text_addf(line, "%s  %-5s  ", at, who);
}

static void end(struct text *line)
{
    if (line->cut) /* what is kept ends at a byte, perhaps within a letter: say that it was cut */
        line->used = line->size - 16;
    text_add(line, line->cut ? " ... (cut)\n" : "\n");
}

void transcript_said_line(int64_t at_ms, const char *sentence, bool caution,
                          char out[TRANSCRIPT_LINE])
{
    struct text line = text_into(out, TRANSCRIPT_LINE);
    begin(&line, at_ms, "tool");
    if (caution)
        text_add(&line, "CAUTION  ");
    plain_add(&line, sentence);
    end(&line);
}

bool transcript_said(struct transcript *transcript, int64_t at_ms, const char *sentence,
                     bool caution, struct fault *fault)
{
    char line[TRANSCRIPT_LINE];
    transcript_said_line(at_ms, sentence, caution, line);
    return write_line(transcript, line, fault);
}

/* ---- what was heard ----------------------------------------------------------------------------
 */

/* What a value is, in figures where it has some, else in the words the tool uses for it. */
static bool value_figure(const char *grammar, const struct language_value *value, char *out,
                         size_t size)
{
    const struct language_turn *turn = &value->as.turn;
    char figure[FIGURE_LENGTH];
    struct text text = text_into(out, size);
    switch (value->type) {
    case LANGUAGE_DISTANCE:
        text_add(&text, figure_length(value->as.length, figure));
        return true;
    case LANGUAGE_NUMBER:
        text_addf(&text, "%lld", (long long)value->as.number);
        return true;
    case LANGUAGE_DIGITS:
        text_add(&text, value->as.digits);
        return true;
    case LANGUAGE_PHRASE:
        return false; /* its words are the value */
    case LANGUAGE_TURN:
        if (turn->as_told || turn->not_turned)
            return language_say(grammar, value, out, size);
        text_addf(&text, "%d/%d turn %s", turn->numerator, turn->denominator,
                  turn->clockwise ? "clockwise" : "counter-clockwise");
        return true;
    default:
        return language_say(grammar, value, out, size);
    }
}

/* What the words mean; nothing where that would only say them again. */
static void add_meaning(struct text *line, const char *grammar, const char *words)
{
    struct language_value value;
    char why[LANGUAGE_WHY] = "";
    char figure[VALUE];
    enum language_outcome outcome = language_parse(grammar, words, &value, why);
    if (outcome == LANGUAGE_NONSENSE) {
        text_add(line, "  = nothing this question takes");
    } else if (outcome == LANGUAGE_OUT_OF_SENSE) {
        text_add(line, "  = no such value: ");
        plain_add(line, why);
    } else if (value_figure(grammar, &value, figure, sizeof figure) && strcmp(figure, words) != 0) {
        text_add(line, "  = ");
        plain_add(line, figure);
    }
}

static void add_confirmation(struct text *line, const struct job_event *event, const char *question,
                             enum language_phrase awaited)
{
    struct language_value value;
    if (event->verdict != JOB_ACCEPTED ||
        language_parse("caution", event->words, &value, NULL) != LANGUAGE_OK ||
        value.type != LANGUAGE_PHRASE)
        return;
    bool confirmed = value.as.phrase == awaited && awaited != LANGUAGE_NOT_YET;
    text_add(line, confirmed ? "  CONFIRMED " : "  NOT CONFIRMED ");
    plain_add(line, question == NULL ? "" : question);
}

static void add_verdict(struct text *line, const struct job_event *event)
{
    static const char *const names[] = {"accepted", "unsure", "rejected"};
    size_t verdict = event->verdict;
    text_addf(line, "  %s", verdict < sizeof names / sizeof names[0] ? names[verdict] : "rejected");
    if (event->source == JOB_BY_EAR)
        text_addf(line, " %.2f", event->score);
    if (event->deafening)
        text_add(line, "  too loud");
}

static void add_heard(struct text *line, const struct job_event *event, const char *question,
                      const char *grammar, enum language_phrase awaited)
{
    if (event->keys[0] != '\0') {
        text_add(line, "[");
        plain_add(line, event->keys);
        text_add(line, "] ");
    }
    plain_add_quoted(line, event->words);
    add_verdict(line, event);
    if (grammar == NULL || event->verdict == JOB_REJECTED)
        return;
    add_meaning(line, grammar, event->words);
    if (event->verdict == JOB_UNSURE && event->other[0] != '\0') {
        text_add(line, "  or ");
        plain_add_quoted(line, event->other);
        add_meaning(line, grammar, event->other);
    }
    if (strcmp(grammar, "caution") == 0)
        add_confirmation(line, event, question, awaited);
}

static void add_note(struct text *line, const struct job_event *event)
{
    switch (event->kind) {
    case JOB_OPENED:
        text_add(line, "job opened; profiles:");
        for (size_t i = 0; i < event->names_n && i < PROFILES_MAX; i++) {
            text_add(line, i == 0 ? " " : ", ");
            plain_add(line, event->names[i]);
        }
        return;
    case JOB_PROFILE_READ:
        text_add(line, "profile read: ");
        plain_add(line, event->profile.name);
        text_add(line, " (");
        plain_add(line, event->profile.title);
        text_add(line, ")");
        return;
    case JOB_PROFILE_FAILED:
        text_add(line, "profile not read: ");
        plain_add(line, event->words);
        return;
    case JOB_REMINDED:
        text_add(line, "nothing was said for a while");
        return;
    case JOB_RESUMED:
        text_add(line, "started again on this job");
        return;
    case JOB_HUNG_UP:
        text_add(line, "the input ended; the job stays open");
        return;
    case JOB_EAR_CHANGED:
        text_addf(line, "the ear: %s", job_ear_name(event->ear));
        return;
    case JOB_HEARD:
        return;
    }
}

void transcript_heard_line(const struct job_event *event, const char *question, const char *grammar,
                           enum language_phrase awaited, char out[TRANSCRIPT_LINE])
{
    static const char *const who[] = {"ear", "typed", "pad", "note"}; /* enum job_source's order */
    size_t source = event->source;
    struct text line = text_into(out, TRANSCRIPT_LINE);
    bool heard = event->kind == JOB_HEARD;
    begin(&line, event->at_ms, heard && source < sizeof who / sizeof who[0] ? who[source] : "note");
    if (heard)
        add_heard(&line, event, question, grammar, awaited);
    else
        add_note(&line, event);
    end(&line);
}

bool transcript_heard(struct transcript *transcript, const struct job_event *event,
                      const char *question, const char *grammar, enum language_phrase awaited,
                      struct fault *fault)
{
    char line[TRANSCRIPT_LINE];
    transcript_heard_line(event, question, grammar, awaited, line);
    return write_line(transcript, line, fault);
}
