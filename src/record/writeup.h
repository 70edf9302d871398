/*
 * The write-up: concern, cause, correction, in the shop's words, from the job's state alone.
 */
#ifndef MIDTHROW_RECORD_WRITEUP_H
#define MIDTHROW_RECORD_WRITEUP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "job/job.h"

enum { WRITEUP_SIZE = 131072 }; /* holds the longest there can be */

/* Plain text, at most 80 columns. False when it had to be cut. */
bool writeup_text(const struct job *job, int64_t number, char *out, size_t size);

/* One page of HTML, with pictures, that needs nothing else: no script, nothing fetched. It prints
 * on one or two sheets of A4 or Letter, save for a job of very many rounds; it is well-formed XML
 * as well. What came from outside is text in it, whatever it holds. False when it had to be cut. */
enum { WRITEUP_HTML_SIZE = 1 << 18 };
bool writeup_html(const struct job *job, int64_t number, char *out, size_t size);

/*
 * The same and more as one JSON object, version 1 (writeup.schema.json has it to the letter); the
 * caller frees it. NULL when memory ran out. Times are ISO 8601 in UTC, what is not known is null,
 * a length is {"value": "5/16 in", "mm": 7.9375}, text that is no UTF-8 has its bytes as \xNN.
 *
 *     version job work_order bike profile title source odometer opened_at closed_at
 *     ending          "open", "fixed" or "not fixed"
 *     phase question  where it stands
 *     seen[]          evidence value words
 *     cause           the one confirmed: id name
 *     ranking[]       id name probability because[]: evidence words weight (of log odds)
 *     answers[]       question at by words mm (of a distance)
 *     checks[]        check what value low high low_asked high_asked probability_in verdict
 *                     found put_right cured at
 *     centring        "not measured", "even as found", "made even", "stopped", "hook bad",
 *                     "skipped", "cannot tell", "under way"
 *     rounds[]        round at forward back (each: readings[] mean_mm standard_mm expanded_mm)
 *                     offset_mm offset_standard_mm sum_mm forward_percent probability_even
 *                     verdict sum_suspect scatter_suspect advised_turns turned_turns (clockwise
 * positive) proving[]       id what passed at cautions[]      id round by at corrections[]   id was
 * became at heard asked_again rejected
 */
char *writeup_json(const struct job *job, int64_t number);

/* "open", "fixed", "not fixed": as files and JSON have it. */
const char *writeup_ending_name(enum job_ending ending);

#endif
