/* The command alone, as an executable: `balance_alone balance --forward ...`, for the tests. */
#include "command/command.h"

int main(int argc, char **argv)
{
    return argc > 0 ? command_balance(argc - 1, argv + 1) : 2;
}
