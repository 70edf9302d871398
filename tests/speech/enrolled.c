/* Voices that the ear has learned: see enrolled.h. */
#include "enrolled.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "speech/enrol.h"
#include "speech/person.h"

enum { KNOWN = 64, PATH = 640 };

/* Reads all sentences; one that is heard as another is passed over, as it is when a person was
 * asked to read it again in vain. */
static bool read_aloud(const struct studio *studio, struct speech_enrolment *enrolment,
                       const struct voice *voice, size_t manner, size_t *taken)
{
    struct fault fault = {0};
    for (size_t s = 0; speech_person_sentence(s) != NULL; s++) {
        const char *words = speech_person_sentence(s);
        struct recording said = {0};
        struct speech_heard heard;
        bool read =
            voices_say_as(voice, manner, words, &said) &&
            studio_mix(studio, &said, voice, noise_named("pink"), ROWS_QUIET_DB, (uint32_t)s) &&
            speech_recognise(studio->ear, "enrol", said.pcm, said.frames, &heard, &fault);
        recording_free(&said);
        if (!read)
            return false;
        if (heard.verdict != SPEECH_REJECTED && strcmp(heard.words, words) == 0)
            *taken += speech_enrolment_take(enrolment, words, &fault);
    }
    return true;
}

static struct speech_phonetic *learn(const struct studio *studio, const struct voice *voice,
                                     size_t manner)
{
    struct fault fault = {0};
    size_t taken = 0;
    speech_recogniser_know(studio->ear, NULL);
    struct speech_enrolment *enrolment = speech_enrolment_open(studio->ear, &fault);
    struct speech_phonetic *person =
        enrolment != NULL && read_aloud(studio, enrolment, voice, manner, &taken)
            ? speech_enrolment_learn(enrolment, &fault)
            : NULL;
    speech_enrolment_close(enrolment);
    fprintf(stderr, "%s in manner %zu: %zu sentences learned from. %s\n", voice->name, manner,
            taken, fault.sentence);
    return person;
}

static bool write_whole(const char *path, const struct speech_phonetic *person)
{
    char beside[PATH + 16], *text = malloc(PERSON_TEXT);
    snprintf(beside, sizeof beside, "%s.%ld", path, (long)getpid());
    FILE *file = text != NULL ? fopen(beside, "w") : NULL;
    bool written =
        file != NULL && speech_person_write(person, text, PERSON_TEXT) && fputs(text, file) >= 0;
    if (file != NULL && fclose(file) != 0)
        written = false;
    free(text);
    return written && rename(beside, path) == 0;
}

static struct speech_phonetic *read_from(const char *path)
{
    struct fault fault = {0};
    size_t length = 0;
    char *text = file_read(path, PERSON_TEXT, &length, &fault);
    struct speech_phonetic *person = text != NULL ? speech_person_read(text, &fault) : NULL;
    free(text);
    return person;
}

struct speech_phonetic *enrolled_learn(const struct studio *studio, const char *dir,
                                       const struct voice *voice, size_t manner)
{
    char path[PATH];
    snprintf(path, sizeof path, "%s/%s-%zu.person", dir, voice->name, manner);
    struct speech_phonetic *known = read_from(path);
    if (known != NULL)
        return known;
    struct speech_phonetic *person = learn(studio, voice, manner);
    if (person != NULL && write_whole(path, person))
        known = read_from(path); /* as the program has it: rounded */
    speech_phonetic_close(person);
    return known;
}

bool enrolled_know(const struct studio *studio, const char *dir, const struct voice *voice,
                   size_t manner)
{
    static struct {
        const struct voice *voice;
        size_t manner;
        struct speech_phonetic *person;
    } known[KNOWN];
    static size_t count;
    size_t k = 0;
    manner = voices_at_rest(manner);
    while (k < count && (known[k].voice != voice || known[k].manner != manner))
        k++;
    if (k == KNOWN)
        return false;
    if (k == count) {
        if ((known[k].person = enrolled_learn(studio, dir, voice, manner)) == NULL)
            return false;
        known[k].voice = voice;
        known[k].manner = manner;
        count++;
    }
    speech_recogniser_know(studio->ear, known[k].person);
    return true;
}

bool enrolled_know_named(const struct studio *studio, const char *dir, const char *name)
{
    const struct voice *voice = name[0] != '\0' ? voices_named(name) : NULL;
    if (voice == NULL && name[0] != '\0')
        fprintf(stderr, "no voice is called '%s'.\n", name);
    return name[0] == '\0' || (voice != NULL && enrolled_know(studio, dir, voice, 0));
}
