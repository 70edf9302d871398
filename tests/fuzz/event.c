/* One event of the journal as JSON: what is taken goes back to JSON and means the same. */
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "record/journal.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct job_event event, back;
    static char json[JOURNAL_EVENT], again[JOURNAL_EVENT];
    struct fault fault = {0};
    char *text = fuzz_text(data, size);
    if (journal_event_from_json(text, &event, &fault)) {
        FUZZ_PROMISED(memchr(event.words, '\0', sizeof event.words) != NULL);
        FUZZ_PROMISED(journal_event_to_json(&event, json, sizeof json));
        FUZZ_PROMISED(journal_event_from_json(json, &back, &fault));
        FUZZ_PROMISED(journal_event_to_json(&back, again, sizeof again));
        FUZZ_PROMISED(strcmp(json, again) == 0);
    } else {
        FUZZ_PROMISED(fault.sentence[0] != '\0');
    }
    free(text);
    return 0;
}
