/* A measurement point by point: the live sweep says what to set and when to stop, the tracer sets and reads. Plain C11,
 * also C++17. The tracer here is simulated, its cell invented; put your own source and meters into `set_and_read`.
 *
 *   cc -std=c11 -I capi/include capi/examples/tracer.c -L target/release -llitdiode_capi -lm -o tracer
 *
 * Keep the compliance of the source at the limits as well: a program cannot guard what a loose wire does. Above 60 V d.c., of
 * a string of cells, a hand on a contact is dangerous; a lamp burns and blinds.
 */
#include "litdiode.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static char text[512];
static size_t needed;

static void must(int32_t status)
{
    if (status != LITDIODE_OK) {
        fprintf(stderr, "status %d: %s\n", (int)status, text);
        exit(EXIT_FAILURE);
    }
}

/* In place of a source and two meters. */
struct tracer {
    uint64_t cell;
    uint32_t random;
    unsigned readings;
    double time_s;
};

/* About normal, standard deviation 1: the sum of twelve even ones. */
static double scatter(struct tracer *tracer)
{
    double sum = -6.0;
    int k;
    for (k = 0; k < 12; ++k) {
        tracer->random = tracer->random * 1664525u + 1013904223u;
        sum += tracer->random / 4294967296.0;
    }
    return sum;
}

/* Sets a voltage in V, waits, and reads the current in A. Each fifth reading is lost on the way. */
static double set_and_read(struct tracer *tracer, double voltage_v, double dwell_s)
{
    double current_a;
    tracer->readings += 1;
    tracer->time_s += dwell_s;
    if (tracer->readings % 5 == 0) {
        return NAN;
    }
    must(litdiode_model_current(tracer->cell, &voltage_v, 1, &current_a, 1, text, sizeof text, &needed));
    return current_a + 60e-6 * scatter(tracer);
}

/* The settings of the measurement: limits of the source, what is to be known, the noise of the meters. */
static uint64_t new_live_sweep(void)
{
    uint64_t settings, of_sweep, live;
    must(litdiode_live_settings_new(-0.1, 0.8, -0.06, 0.06, &settings, text, sizeof text, &needed));
    must(litdiode_live_settings_target(settings, LITDIODE_FF, 0.003, text, sizeof text, &needed));
    must(litdiode_live_settings_safety(settings, 0.05, 0.0, text, sizeof text, &needed));
    must(litdiode_live_settings_time(settings, 100, 60.0, 0.2, text, sizeof text, &needed));
    must(litdiode_sweep_settings_new(&of_sweep, text, sizeof text, &needed));
    must(litdiode_sweep_settings_noise(of_sweep, LITDIODE_NOISE_CURRENT_A, 60e-6, text, sizeof text, &needed));
    must(litdiode_live_settings_sweep(settings, of_sweep, text, sizeof text, &needed));
    must(litdiode_live_new(settings, &live, text, sizeof text, &needed));
    must(litdiode_free(of_sweep, text, sizeof text, &needed));
    must(litdiode_free(settings, text, sizeof text, &needed));
    return live;
}

static void measure(uint64_t live, struct tracer *tracer)
{
    for (;;) {
        int32_t more, purpose, flag, status;
        double set_point, dwell_s, current_a, relative_u;
        size_t count;
        must(litdiode_live_next(live, 0, &more, &set_point, &dwell_s, &purpose, text, sizeof text, &needed));
        if (!more) {
            return;
        }
        current_a = set_and_read(tracer, set_point, dwell_s);
        status = litdiode_live_push(live, set_point, current_a, tracer->time_s, &flag, text, sizeof text, &needed);
        if (status != LITDIODE_OK) {
            /* Nothing is lost: the next set point is the same one. */
            printf("refused (%d): %s\n", (int)status, text);
        } else if (flag != LITDIODE_FLAG_NONE) {
            printf("odd (%d): %s\n", (int)flag, text);
        }
        must(litdiode_live_progress(live, &count, &relative_u, text, sizeof text, &needed));
        printf("%3u readings, set %7.4f V: FF to %.2f %%\n", (unsigned)count, set_point, 100.0 * relative_u);
    }
}

static void print_figure(uint64_t points, int32_t figure, const char *name)
{
    double value, u, dof;
    must(litdiode_key_points_figure(points, figure, &value, &u, &dof, text, sizeof text, &needed));
    printf("%s %.5g +- %.2g\n", name, value, u);
}

int main(void)
{
    static const double parameters[5] = {0.03, 1e-9, 1.4, 0.8, 900.0};
    struct tracer tracer = {0, 1u, 0u, 0.0};
    uint64_t live, points, sweep, fit;
    int32_t reason;
    double rs, u, dof;
    size_t handles;

    must(litdiode_model_new(1, parameters, 5, 1, 25.0, &tracer.cell, text, sizeof text, &needed));
    live = new_live_sweep();
    measure(live, &tracer);
    puts("source at 0 V and off");

    must(litdiode_live_reason(live, &reason, text, sizeof text, &needed));
    printf("stopped (%d): %s\n", (int)reason, text);
    must(litdiode_live_key_points(live, &points, text, sizeof text, &needed));
    print_figure(points, LITDIODE_VOC, "Voc");
    print_figure(points, LITDIODE_FF, "FF");
    must(litdiode_live_fit(live, 1.0, &fit, text, sizeof text, &needed));
    must(litdiode_fit_parameter(fit, LITDIODE_RS, &rs, &u, &dof, text, sizeof text, &needed));
    printf("Rs %.3g +- %.2g Ohm\n", rs, u);
    must(litdiode_live_sweep(live, &sweep, text, sizeof text, &needed));
    must(litdiode_text(sweep, text, sizeof text, &needed));
    puts(text);

    must(litdiode_free(tracer.cell, text, sizeof text, &needed));
    must(litdiode_free(live, text, sizeof text, &needed));
    must(litdiode_free(points, text, sizeof text, &needed));
    must(litdiode_free(fit, text, sizeof text, &needed));
    must(litdiode_free(sweep, text, sizeof text, &needed));
    must(litdiode_handle_count(&handles, text, sizeof text, &needed));
    return handles == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
