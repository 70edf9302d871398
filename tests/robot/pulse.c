/* A private sound server for tests: see pulse.h. */
#include "pulse.h"

#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static void sleep_ms(long ms)
{
    nanosleep(&(struct timespec){.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000}, NULL);
}

static const char *in_folder(const struct pulse *pulse, const char *name, char out[PATH_MAX])
{
    snprintf(out, PATH_MAX, "%s/%s", pulse->folder, name);
    return out;
}

static bool on_path(const char *program)
{
    char path[4096], file[PATH_MAX];
    const char *from = getenv("PATH");
    snprintf(path, sizeof path, "%s", from != NULL ? from : "/usr/bin:/bin");
    char *rest;
    for (char *folder = strtok_r(path, ":", &rest); folder != NULL;
         folder = strtok_r(NULL, ":", &rest)) {
        snprintf(file, sizeof file, "%.1000s/%s", folder, program);
        if (access(file, X_OK) == 0)
            return true;
    }
    return false;
}

bool pulse_is_installed(void)
{
    return on_path("pulseaudio");
}

/* ---- the folder ---------------------------------------------------------------------------- */

static bool write_alsa_config(const struct pulse *pulse)
{
    char name[PATH_MAX];
    FILE *file = fopen(in_folder(pulse, "alsa.conf", name), "w");
    if (file == NULL)
        return false;
    fputs("</usr/share/alsa/alsa.conf>\n"
          "pcm.lift_speaker { type pulse device lift_speaker hint.description \"speaker\" }\n"
          "pcm.lift_microphone { type pulse device lift_microphone.monitor }\n"
          "pcm.lift_loop { type pulse device lift_speaker.monitor }\n",
          file);
    return fclose(file) == 0;
}

static bool set_environment(const struct pulse *pulse)
{
    char path[PATH_MAX];
    bool set = setenv("HOME", pulse->folder, 1) == 0 &&
               setenv("XDG_RUNTIME_DIR", pulse->folder, 1) == 0 &&
               setenv("XDG_CONFIG_HOME", pulse->folder, 1) == 0 &&
               setenv("PULSE_RUNTIME_PATH", in_folder(pulse, "pulse", path), 1) == 0 &&
               setenv("PULSE_SERVER", in_folder(pulse, "pulse/native", path), 1) == 0 &&
               setenv("ALSA_CONFIG_PATH", in_folder(pulse, "alsa.conf", path), 1) == 0;
    unsetenv("DBUS_SESSION_BUS_ADDRESS");
    unsetenv("DISPLAY");
    return set;
}

bool pulse_begin(struct pulse *pulse)
{
    const char *temporary = getenv("TMPDIR");
    char path[PATH_MAX];
    memset(pulse, 0, sizeof *pulse);
    snprintf(pulse->folder, sizeof pulse->folder, "%.80s/midthrow-sound-XXXXXX",
             temporary != NULL ? temporary : "/tmp");
    if (mkdtemp(pulse->folder) == NULL)
        return false;
    return mkdir(in_folder(pulse, "pulse", path), 0700) == 0 && write_alsa_config(pulse) &&
           set_environment(pulse) && pulse_start(pulse);
}

void pulse_end(struct pulse *pulse)
{
    pulse_stop(pulse);
    char *argv[] = {(char[]){"rm"}, (char[]){"-rf"}, (char[]){"--"}, pulse->folder, NULL};
    pid_t child = fork();
    if (child == 0) {
        execvp(argv[0], argv);
        _exit(127);
    }
    if (child > 0)
        waitpid(child, NULL, 0);
}

/* ---- processes ----------------------------------------------------------------------------- */

pid_t pulse_spawn(const struct pulse *pulse, char *const *argv, int in, int out, const char *log)
{
    char path[PATH_MAX];
    pid_t parent = getpid(), child = fork();
    if (child != 0)
        return child;
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != parent)
        _exit(127);
    int null = open("/dev/null", O_RDWR);
    int errors = open(in_folder(pulse, log, path), O_WRONLY | O_CREAT | O_APPEND, 0600);
    dup2(in >= 0 ? in : null, STDIN_FILENO);
    dup2(out >= 0 ? out : null, STDOUT_FILENO);
    dup2(errors >= 0 ? errors : null, STDERR_FILENO);
    execvp(argv[0], argv);
    _exit(127);
}

/* The server answers once its socket takes a connection and its sinks are made before that. */
static bool answers(const struct pulse *pulse)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    char path[PATH_MAX];
    snprintf(address.sun_path, sizeof address.sun_path, "%.100s",
             in_folder(pulse, "pulse/native", path));
    int end = socket(AF_UNIX, SOCK_STREAM, 0);
    bool connected =
        end >= 0 && connect(end, (const struct sockaddr *)&address, sizeof address) == 0;
    if (end >= 0)
        close(end);
    return connected;
}

/* Listens to both sinks with little latency, and waits until they give sound. */
static bool wake_sinks(struct pulse *pulse)
{
    static const char *const monitors[] = {"lift_speaker.monitor", "lift_microphone.monitor"};
    for (size_t i = 0; i < 2; i++) {
        char device[64], path[PATH_MAX];
        snprintf(device, sizeof device, "--device=%s", monitors[i]);
        char *argv[] = {(char[]){"parec"},
                        (char[]){"--latency-msec=10"},
                        (char[]){"--rate=4000"},
                        (char[]){"--channels=1"},
                        device,
                        NULL};
        int out = open(in_folder(pulse, monitors[i], path), O_RDWR | O_CREAT | O_TRUNC, 0600);
        pulse->awake[i] = pulse_spawn(pulse, argv, -1, out, "server.log");
        bool awake = false;
        for (int wait = 0; wait < 100 && !awake; wait++) {
            sleep_ms(50);
            struct stat status;
            awake = fstat(out, &status) == 0 && status.st_size > 0;
        }
        close(out);
        if (!awake)
            return false;
    }
    return true;
}

static void end_child(pid_t *child)
{
    if (*child > 0) {
        kill(*child, SIGKILL); /* also when it is stopped by SIGSTOP */
        waitpid(*child, NULL, 0);
    }
    *child = 0;
}

bool pulse_start(struct pulse *pulse)
{
    char path[PATH_MAX], protocol[PATH_MAX + 64];
    snprintf(protocol, sizeof protocol, "module-native-protocol-unix auth-anonymous=1 socket=%s",
             in_folder(pulse, "pulse/native", path));
    char *argv[] = {
        (char[]){"pulseaudio"},
        (char[]){"-n"},
        (char[]){"--system=no"},
        (char[]){"--daemonize=no"},
        (char[]){"--use-pid-file=no"},
        (char[]){"--disable-shm=yes"},
        (char[]){"--realtime=no"},
        (char[]){"--high-priority=no"},
        (char[]){"--exit-idle-time=-1"},
        (char[]){"--log-target=stderr"},
        (char[]){"-L"},
        (char[]){"module-null-sink sink_name=lift_speaker rate=48000 channels=2"},
        (char[]){"-L"},
        (char[]){"module-null-sink sink_name=lift_microphone rate=48000 channels=2"},
        (char[]){"-L"},
        protocol,
        NULL,
    };
    unlink(path);
    pulse->server = pulse_spawn(pulse, argv, -1, -1, "server.log");
    for (int i = 0; i < 200 && pulse->server > 0; i++) {
        if (answers(pulse)) {
            if (wake_sinks(pulse))
                return true;
            break;
        }
        if (waitpid(pulse->server, NULL, WNOHANG) == pulse->server)
            break;
        sleep_ms(50);
    }
    pulse_stop(pulse);
    return false;
}

void pulse_stop(struct pulse *pulse)
{
    end_child(&pulse->awake[0]);
    end_child(&pulse->awake[1]);
    end_child(&pulse->server);
}
