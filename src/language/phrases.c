/* Every answer that is a phrase of its own. The same phrases stand in grammars/NAME.gram for the
 * ear; the tests hold the two together. The first row of each value is the one the tool says. */
#include "language/parts.h"

/* Commands, "don't know" and "skip" share a list. */
#define COMMAND(command) (LANGUAGE_COMMAND * COMMAND_STEP + (command))
#define DONT_KNOW (LANGUAGE_DONT_KNOW * COMMAND_STEP)
#define SKIP (LANGUAGE_SKIP * COMMAND_STEP)

const struct said said_command[] = {
    {COMMAND(LANGUAGE_SAY_AGAIN), "say again", HEARD},
    {COMMAND(LANGUAGE_SAY_AGAIN), "say that again", HEARD},
    {COMMAND(LANGUAGE_SAY_AGAIN), "repeat that", HEARD},
    {COMMAND(LANGUAGE_GO_BACK), "go back", HEARD},
    {COMMAND(LANGUAGE_GO_BACK), "go back one", HEARD},
    {COMMAND(LANGUAGE_WRONG), "that is wrong", HEARD},
    {COMMAND(LANGUAGE_WRONG), "correction correction", HEARD},
    {COMMAND(LANGUAGE_STOP), "stop", HEARD},
    {COMMAND(LANGUAGE_STOP), "stop stop", HEARD},
    {COMMAND(LANGUAGE_STOP), "stop the job", HEARD},
    {COMMAND(LANGUAGE_HELP), "help me", HEARD},
    {COMMAND(LANGUAGE_HELP), "why do you ask", HEARD},
    {COMMAND(LANGUAGE_WHERE_ARE_WE), "where are we", HEARD},
    {COMMAND(LANGUAGE_WHERE_ARE_WE), "where are we now", HEARD},
    {COMMAND(LANGUAGE_KEYPAD), "use the keypad", HEARD},
    {COMMAND(LANGUAGE_KEYPAD), "use the number pad", HEARD},
    {COMMAND(LANGUAGE_EXPLAIN), "why do you think so", HEARD},
    {COMMAND(LANGUAGE_EXPLAIN), "tell me why you think so", HEARD},
    {COMMAND(LANGUAGE_LOUDER), "speak louder", HEARD},
    {COMMAND(LANGUAGE_QUIETER), "speak quieter", HEARD},
    {COMMAND(LANGUAGE_FASTER), "speak faster", HEARD},
    {COMMAND(LANGUAGE_SLOWER), "speak slower", HEARD},
    {DONT_KNOW, "i don't know", HEARD},
    {DONT_KNOW, "i do not know", HEARD},
    {SKIP, "skip this one", HEARD},
    {COMMAND(LANGUAGE_SAY_AGAIN), "repeat", TYPED},
    {COMMAND(LANGUAGE_WRONG), "correction", TYPED},
    {COMMAND(LANGUAGE_WRONG), "wrong", TYPED},
    {COMMAND(LANGUAGE_HELP), "help", TYPED},
    {COMMAND(LANGUAGE_KEYPAD), "keypad", TYPED},
    {COMMAND(LANGUAGE_LOUDER), "louder", TYPED},
    {COMMAND(LANGUAGE_QUIETER), "quieter", TYPED},
    {COMMAND(LANGUAGE_FASTER), "faster", TYPED},
    {COMMAND(LANGUAGE_SLOWER), "slower", TYPED},
    {DONT_KNOW, "don't know", TYPED},
    {SKIP, "skip", TYPED},
    {SKIP, "skip it", TYPED},
    {COMMAND(LANGUAGE_GO_BACK), "back", TYPED},
    {COMMAND(LANGUAGE_QUIETER), "softer", TYPED},
    {COMMAND(LANGUAGE_EXPLAIN), "why", TYPED}, /* by ear too near to "nine" and "five" */
    {COMMAND(LANGUAGE_WHERE_ARE_WE), "where", TYPED},
    {COMMAND(LANGUAGE_LISTEN), "use the microphone", TYPED}, /* nobody listens when it is wanted */
    {COMMAND(LANGUAGE_LISTEN), "microphone", TYPED},
    {DONT_KNOW, "do not know", TYPED},
    {0, NULL, HEARD},
};

const struct said said_yesno[] = {
    {1, "yes", HEARD},
    {1, "affirmative", HEARD},
    {1, "yes it is", HEARD},
    {1, "yes it does", HEARD},
    {1, "yes they do", HEARD},
    {0, "no", HEARD},
    {0, "negative", HEARD},
    {0, "no it is not", HEARD},
    {0, "no it does not", HEARD},
    {0, "no they do not", HEARD},
    {1, "y", TYPED},
    {1, "yeah", TYPED},
    {1, "yep", TYPED},
    {0, "n", TYPED},
    {0, "nope", TYPED},
    {0, NULL, HEARD},
};

const struct said said_turn[] = {
    {1, "turned as told", HEARD},
    {1, "turned as you said", HEARD},
    {1, "i turned it as told", HEARD},
    {1, "i turned it as you said", HEARD},
    {0, "not turned", HEARD},
    {0, "i did not turn it", HEARD},
    {0, "it was not turned", HEARD},
    {1, "as told", TYPED},
    {0, NULL, HEARD},
};

const struct said said_caution[] = {
    {LANGUAGE_NOT_YET, "not yet", HEARD},
    {LANGUAGE_NOT_YET, "that is not done yet", HEARD},
    {LANGUAGE_BIKE_STRAPPED, "the bike is upright and strapped", HEARD},
    {LANGUAGE_BIKE_STRAPPED, "bike is upright and strapped", HEARD},
    {LANGUAGE_BIKE_STRAPPED, "the bike is strapped and upright", HEARD},
    {LANGUAGE_BIKE_STRAPPED, "bike is strapped and upright", HEARD},
    {LANGUAGE_WHEEL_CLEAR, "the rear wheel is just clear", HEARD},
    {LANGUAGE_WHEEL_CLEAR, "rear wheel is just clear", HEARD},
    {LANGUAGE_WHEEL_CLEAR, "the back wheel is just clear", HEARD},
    {LANGUAGE_WHEEL_CLEAR, "back wheel is just clear", HEARD},
    {LANGUAGE_ENGINE_OFF, "engine off and key out", HEARD},
    {LANGUAGE_ENGINE_OFF, "the engine is off and the key is out", HEARD},
    {LANGUAGE_ENGINE_OFF, "the engine is off and key is out", HEARD},
    {LANGUAGE_ENGINE_OFF, "engine is off and the key is out", HEARD},
    {LANGUAGE_ENGINE_OFF, "engine is off and key is out", HEARD},
    {LANGUAGE_PARTS_COOL, "the parts are cool enough", HEARD},
    {LANGUAGE_PARTS_COOL, "parts are cool enough", HEARD},
    {LANGUAGE_PARTS_COOL, "the parts are cool enough to touch", HEARD},
    {LANGUAGE_PARTS_COOL, "parts are cool enough to touch", HEARD},
    {LANGUAGE_THIRD_GEAR, "it is in third gear", HEARD},
    {LANGUAGE_THIRD_GEAR, "the bike is in third gear", HEARD},
    {LANGUAGE_THIRD_GEAR, "it is in third gear now", HEARD},
    {LANGUAGE_ACCESS_OPEN, "the access is open", HEARD},
    {LANGUAGE_ACCESS_OPEN, "access is open", HEARD},
    {LANGUAGE_ACCESS_OPEN, "the access is open now", HEARD},
    {LANGUAGE_ACCESS_OPEN, "access is open now", HEARD},
    {LANGUAGE_TOOLS_READY, "the tools are ready", HEARD},
    {LANGUAGE_TOOLS_READY, "tools are ready", HEARD},
    {LANGUAGE_TOOLS_READY, "i have the tools ready", HEARD},
    {LANGUAGE_LOCK_NUT_LOOSE, "the lock nut is loose", HEARD},
    {LANGUAGE_LOCK_NUT_LOOSE, "lock nut is loose", HEARD},
    {LANGUAGE_LOCK_NUT_LOOSE, "i have backed off the lock nut", HEARD},
    {LANGUAGE_LOCK_NUT_TIGHT, "the lock nut is tight", HEARD},
    {LANGUAGE_LOCK_NUT_TIGHT, "lock nut is tight", HEARD},
    {LANGUAGE_LOCK_NUT_TIGHT, "i have tightened the lock nut", HEARD},
    {LANGUAGE_SET_TO_MANUAL, "it is set to the manual", HEARD},
    {LANGUAGE_SET_TO_MANUAL, "it is set as the manual says", HEARD},
    {LANGUAGE_HANDS_CLEAR, "hands and tools are clear", HEARD},
    {LANGUAGE_HANDS_CLEAR, "my hands and tools are clear", HEARD},
    {LANGUAGE_HANDS_CLEAR, "hands and tools are out of the way", HEARD},
    {LANGUAGE_HANDS_CLEAR, "my hands and tools are out of the way", HEARD},
    {LANGUAGE_EXHAUST_LED_AWAY, "the exhaust is led away", HEARD},
    {LANGUAGE_EXHAUST_LED_AWAY, "exhaust is led away", HEARD},
    {LANGUAGE_EXHAUST_LED_AWAY, "the exhaust hose is on and led away", HEARD},
    {LANGUAGE_COVER_BACK, "the cover is back on", HEARD},
    {LANGUAGE_COVER_BACK, "cover is back on", HEARD},
    {LANGUAGE_COVER_BACK, "i have put the cover back on", HEARD},
    {LANGUAGE_EYES_COVERED, "eyes and paint are covered", HEARD},
    {LANGUAGE_EYES_COVERED, "my eyes and the paint are covered", HEARD},
    {LANGUAGE_BATTERY_OFF, "the battery is disconnected", HEARD},
    {LANGUAGE_BATTERY_OFF, "battery is disconnected", HEARD},
    {LANGUAGE_BATTERY_OFF, "i have disconnected the battery", HEARD},
    {LANGUAGE_NAMED_GEAR, "it is in the gear named", HEARD},
    {LANGUAGE_NAMED_GEAR, "the bike is in the gear named", HEARD},
    {0, NULL, HEARD},
};

const struct said said_cable[] = {
    {0, "looks good", HEARD},
    {0, "it looks good", HEARD},
    {0, "the cable looks good", HEARD},
    {1, "frayed or stiff", HEARD},
    {1, "it is frayed", HEARD},
    {1, "it is stiff", HEARD},
    {2, "badly routed", HEARD},
    {2, "it is badly routed", HEARD},
    {2, "it runs the wrong way", HEARD},
    {0, "good", TYPED},
    {1, "frayed", TYPED},
    {1, "stiff", TYPED},
    {0, NULL, HEARD},
};

const struct said said_clutch[] = {
    {0, "it has a cable", HEARD},
    {0, "the clutch has a cable", HEARD},
    {1, "it is hydraulic", HEARD},
    {1, "the clutch is hydraulic", HEARD},
    {0, "cable", TYPED},
    {1, "hydraulic", TYPED},
    {0, NULL, HEARD},
};

const struct said said_course[] = {
    {0, "do it now", HEARD},
    {0, "we do it now", HEARD},
    {1, "leave it out", HEARD},
    {1, "leave this one out", HEARD},
    {2, "hand the job over", HEARD},
    {2, "i hand the job over", HEARD},
    {0, NULL, HEARD},
};

const struct said said_feel[] = {
    {0, "it feels firm", HEARD},
    {0, "the lever feels firm", HEARD},
    {1, "it feels spongy", HEARD},
    {1, "the lever feels spongy", HEARD},
    {2, "it sinks", HEARD},
    {2, "the lever sinks", HEARD},
    {0, "firm", TYPED},
    {1, "spongy", TYPED},
    {2, "sinks", TYPED},
    {0, NULL, HEARD},
};

const struct said said_complaint[] = {
    {0, "hard to find", HEARD},
    {0, "it is hard to find", HEARD},
    {0, "neutral is hard to find", HEARD},
    {1, "false neutral", HEARD},
    {1, "a false neutral", HEARD},
    {1, "it has a false neutral", HEARD},
    {1, "it drops into a false neutral", HEARD},
    {2, "both of them", HEARD},
    {2, "it is both of them", HEARD},
    {2, "both", TYPED},
    {0, NULL, HEARD},
};

const struct said said_temperature[] = {
    {0, "hot", HEARD},
    {0, "only hot", HEARD},
    {0, "only when it is hot", HEARD},
    {0, "when it is hot", HEARD},
    {1, "cold", HEARD},
    {1, "only cold", HEARD},
    {1, "only when it is cold", HEARD},
    {1, "when it is cold", HEARD},
    {2, "both of them", HEARD},
    {2, "hot and cold", HEARD},
    {2, "both hot and cold", HEARD},
    {2, "both", TYPED},
    {0, NULL, HEARD},
};

const struct said said_engine[] = {
    {0, "engine off", HEARD},
    {0, "with the engine off", HEARD},
    {0, "only with the engine off", HEARD},
    {1, "engine running", HEARD},
    {1, "with the engine running", HEARD},
    {1, "only with the engine running", HEARD},
    {2, "both of them", HEARD},
    {2, "engine off and running", HEARD},
    {2, "both off and running", HEARD},
    {2, "both", TYPED},
    {0, NULL, HEARD},
};

const struct said said_motion[] = {
    {0, "rolling to a stop", HEARD},
    {0, "when it is rolling to a stop", HEARD},
    {0, "when i roll to a stop", HEARD},
    {1, "standing with the clutch in", HEARD},
    {1, "when it is standing with the clutch in", HEARD},
    {1, "standing still with the clutch in", HEARD},
    {2, "both of them", HEARD},
    {2, "rolling and standing", HEARD},
    {2, "both rolling and standing", HEARD},
    {2, "both", TYPED},
    {0, NULL, HEARD},
};

const struct said said_onset[] = {
    {0, "sudden", HEARD},
    {0, "it was sudden", HEARD},
    {0, "all of a sudden", HEARD},
    {0, "it came all of a sudden", HEARD},
    {0, "suddenly", HEARD},
    {0, "it came on suddenly", HEARD},
    {1, "gradual", HEARD},
    {1, "it was gradual", HEARD},
    {1, "little by little", HEARD},
    {1, "it came little by little", HEARD},
    {1, "gradually", HEARD},
    {1, "it came on gradually", HEARD},
    {0, NULL, HEARD},
};

const struct said said_level[] = {
    {0, "level low", HEARD},
    {0, "the level is too low", HEARD},
    {0, "below the mark", HEARD},
    {1, "level correct", HEARD},
    {1, "the level is just right", HEARD},
    {1, "between the marks", HEARD},
    {2, "level high", HEARD},
    {2, "the level is too high", HEARD},
    {2, "above the mark", HEARD},
    {0, "low", TYPED},
    {0, "the level is low", TYPED},
    {1, "right", TYPED},
    {1, "level right", TYPED},
    {1, "the level is right", TYPED},
    {2, "high", TYPED},
    {2, "the level is high", TYPED},
    {0, NULL, HEARD},
};

const struct said said_condition[] = {
    {0, "clean", HEARD},
    {0, "it is clean", HEARD},
    {0, "the fluid is clean", HEARD},
    {1, "dark", HEARD},
    {1, "it is dark", HEARD},
    {1, "the fluid is dark", HEARD},
    {2, "milky", HEARD},
    {2, "it is milky", HEARD},
    {2, "the fluid is milky", HEARD},
    {3, "wrong fluid", HEARD},
    {3, "it is the wrong fluid", HEARD},
    {3, "somebody put in the wrong fluid", HEARD},
    {0, NULL, HEARD},
};

const struct said said_fasteners[] = {
    {0, "all tight", HEARD},
    {0, "all of them are tight", HEARD},
    {0, "everything is tight", HEARD},
    {1, "something loose", HEARD},
    {1, "something is loose", HEARD},
    {1, "one of them is loose", HEARD},
    {0, NULL, HEARD},
};

const struct said said_hook[] = {
    {0, "looks good", HEARD},
    {0, "it looks good", HEARD},
    {0, "hook and pin look good", HEARD},
    {1, "worn", HEARD},
    {1, "it is worn", HEARD},
    {1, "it looks worn", HEARD},
    {2, "bent", HEARD},
    {2, "it is bent", HEARD},
    {2, "it looks bent", HEARD},
    {3, "cannot see", HEARD},
    {3, "cannot see it", HEARD},
    {3, "i cannot see it", HEARD},
    {0, "good", TYPED},
    {0, NULL, HEARD},
};

const struct said said_either[] = {
    {0, "the first", HEARD},      {0, "the first one", HEARD}, {1, "the second", HEARD},
    {1, "the second one", HEARD}, {2, "neither", HEARD},       {2, "neither of them", HEARD},
    {0, "first", TYPED},          {1, "second", TYPED},        {0, NULL, HEARD},
};

const struct said said_resume[] = {
    {0, "carry on", HEARD},    {0, "carry on with the job", HEARD},
    {1, "put it away", HEARD}, {1, "put the job away", HEARD},
    {0, NULL, HEARD},
};

const struct said said_start[] = {
    {0, "carry on", HEARD},        {0, "carry on with the job", HEARD},
    {1, "start a new job", HEARD}, {1, "start another job", HEARD},
    {1, "new job", TYPED},         {0, NULL, HEARD},
};

/* A bit each; the rows of several bits are whole answers. */
const struct said said_sense[] = {
    {0, "clockwise moves it forward", HEARD},
    {0, "clockwise is forward", HEARD},
    {1, "clockwise moves it back", HEARD},
    {1, "clockwise is back", HEARD},
    {0, "clockwise forward", TYPED},
    {1, "clockwise back", TYPED},
    {0, NULL, HEARD},
};

const struct said said_stem[] = {
    {0, "it is a screw", HEARD},
    {0, "it has a thread", HEARD},
    {1, "it is an eccentric", HEARD},
    {1, "it is eccentric", HEARD},
    {0, "screw", TYPED},
    {1, "eccentric", TYPED},
    {0, NULL, HEARD},
};

const struct said said_service[] = {
    {1, "fluid", HEARD},          {1, "the fluid", HEARD},    {2, "clutch", HEARD},
    {2, "the clutch", HEARD},     {4, "linkage", HEARD},      {4, "the linkage", HEARD},
    {7, "everything", HEARD},     {7, "all of them", TYPED},  {7, "all three of them", HEARD},
    {0, "nothing at all", HEARD}, {0, "none of them", TYPED}, {0, "none", TYPED},
    {0, "nothing", TYPED},        {0, NULL, HEARD},
};

const struct said *said_find(const struct said *list, struct span span)
{
    for (; list->words != NULL; list++) {
        if (span_is(span, list->words))
            return list;
    }
    return NULL;
}

const char *said_words(const struct said *list, int value)
{
    for (; list->words != NULL; list++) {
        if (list->value == value)
            return list->words;
    }
    return NULL;
}

static bool single_bit(int value)
{
    return value > 0 && (value & (value - 1)) == 0;
}

/* One row of one bit off the front; longer wordings first. 0: none stands there. */
static int take_bit(const struct said *list, struct span *span)
{
    struct span longest = *span;
    int bit = 0;
    for (; list->words != NULL; list++) {
        struct span after = *span;
        if (single_bit(list->value) && span_take(&after, list->words) &&
            after.from > longest.from) {
            longest = after;
            bit = list->value;
        }
    }
    *span = longest;
    return bit;
}

bool said_bits(const struct said *list, struct span span, unsigned *bits)
{
    const struct said *whole = said_find(list, span);
    *bits = whole == NULL ? 0 : (unsigned)whole->value;
    if (whole != NULL)
        return true;
    while (span_length(span) > 0) {
        unsigned bit = (unsigned)take_bit(list, &span);
        if (bit == 0 || (*bits & bit) != 0)
            return false;
        *bits |= bit;
        /* An "and" that nothing follows is no answer yet. */
        if (span_take(&span, "and") && span_length(span) == 0)
            return false;
    }
    return *bits != 0;
}

bool said_bits_words(const struct said *list, unsigned bits, struct text *text)
{
    if (bits == 0) {
        text_add(text, said_words(list, 0));
        return true;
    }
    for (unsigned bit = 1; bits != 0; bit <<= 1) {
        const char *words = said_words(list, (int)bit);
        if (words == NULL)
            return false;
        if ((bits & bit) == 0)
            continue;
        bits &= ~bit;
        if (text->used > 0)
            text_add(text, bits == 0 ? " and " : " ");
        text_add(text, words);
    }
    return true;
}
