/* From readings to key points and a diode fit, with what to do about errors. Plain C11, also C++17.
 *
 *   cc -std=c11 -I capi/include capi/examples/readings.c -L target/release -llitdiode_capi -lm -o readings
 *
 * The readings are invented. */
#include "litdiode.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define POINTS 25

static char text[512];
static size_t needed;

/* Ends the program where a call does not succeed, with the status and the text of the library. */
static void must(int32_t status)
{
    if (status != LITDIODE_OK) {
        fprintf(stderr, "status %d: %s\n", (int)status, text);
        exit(EXIT_FAILURE);
    }
}

static void print_figure(uint64_t points, int32_t figure, const char *name, const char *unit)
{
    double value, u, dof, low, high;
    int32_t status = litdiode_key_points_figure(points, figure, &value, &u, &dof, text, sizeof text, &needed);
    if (status >= 800 && status <= 899) {
        printf("%-4s absent (%d): %s\n", name, (int)status, text);
        return;
    }
    must(status);
    must(litdiode_key_points_interval(points, figure, 0.95, &low, &high, text, sizeof text, &needed));
    printf("%-4s %.6g +- %.2g %s (95 %%: %.6g to %.6g)\n", name, value, u, unit, low, high);
}

static void print_parameter(uint64_t fit, int32_t parameter, const char *name, const char *unit)
{
    double value, u, dof;
    must(litdiode_fit_parameter(fit, parameter, &value, &u, &dof, text, sizeof text, &needed));
    if (isnan(u)) {
        printf("%-4s %.6g %s (no uncertainty: %s)\n", name, value, unit, text);
    } else {
        printf("%-4s %.6g +- %.2g %s\n", name, value, u, unit);
    }
}

static void print_fit(uint64_t sweep)
{
    uint64_t fit;
    double rms, chi2;
    int32_t status, stated, number;
    size_t dof, notes, k;
    must(litdiode_fit_new(sweep, 1, 0, 0, &fit, text, sizeof text, &needed));
    must(litdiode_fit_quality(fit, &status, &rms, &chi2, &dof, &stated, &notes, text, sizeof text, &needed));
    printf("fit %s, rms %.3g A\n", status == LITDIODE_FIT_CONVERGED ? "converged" : "see the notes", rms);
    print_parameter(fit, LITDIODE_IPH, "Iph", "A");
    print_parameter(fit, LITDIODE_I0, "I0", "A");
    print_parameter(fit, LITDIODE_N, "n", "");
    print_parameter(fit, LITDIODE_RS, "Rs", "Ohm");
    print_parameter(fit, LITDIODE_RSH, "Rsh", "Ohm");
    for (k = 0; k < notes; ++k) {
        must(litdiode_fit_note(fit, k, &number, text, sizeof text, &needed));
        printf("note %d: %s\n", (int)number, text);
    }
    must(litdiode_free(fit, text, sizeof text, &needed));
}

int main(void)
{
    double voltage_v[POINTS], current_a[POINTS];
    uint64_t settings, sweep, points;
    int32_t abi, status;
    size_t k, handles;

    must(litdiode_version(&abi, text, sizeof text, &needed));
    printf("litdiode %s, interface %d\n", text, (int)abi);
    if (abi != LITDIODE_ABI) {
        return EXIT_FAILURE;
    }

    for (k = 0; k < POINTS; ++k) {
        double scatter = 2e-5 * ((double)(k * 7919 % 101) / 50.0 - 1.0);
        voltage_v[k] = -0.05 + 0.026 * (double)k;
        current_a[k] = 0.030 - 1e-9 * expm1(voltage_v[k] / 0.0334) - voltage_v[k] / 900.0 + scatter;
    }

    must(litdiode_sweep_settings_new(&settings, text, sizeof text, &needed));
    must(litdiode_sweep_settings_noise(settings, LITDIODE_NOISE_CURRENT_A, 1.2e-5, text, sizeof text, &needed));
    must(litdiode_sweep_settings_area(settings, 1.02, 0.01, text, sizeof text, &needed));
    must(litdiode_sweep_settings_irradiance(settings, 1000.0, 20.0, text, sizeof text, &needed));
    must(litdiode_sweep_new(settings, voltage_v, POINTS, current_a, POINTS, &sweep, text, sizeof text, &needed));

    must(litdiode_key_points_new(sweep, 0, 0, 0, &points, text, sizeof text, &needed));
    print_figure(points, LITDIODE_ISC, "Isc", "A");
    print_figure(points, LITDIODE_VOC, "Voc", "V");
    print_figure(points, LITDIODE_PMAX, "Pmax", "W");
    print_figure(points, LITDIODE_FF, "FF", "");
    print_figure(points, LITDIODE_EFFICIENCY, "eta", "");
    print_fit(sweep);

    /* A reading that is none: the status is the number of the error, the text names the reading and the cure. */
    current_a[3] = NAN;
    must(litdiode_free(points, text, sizeof text, &needed));
    status = litdiode_sweep_new(settings, voltage_v, POINTS, current_a, POINTS, &points, text, sizeof text, &needed);
    printf("status %d: %s\n", (int)status, text);
    /* A handle that was freed stands for nothing. */
    status = litdiode_free(points, text, sizeof text, &needed);
    printf("status %d after a second free\n", (int)status);

    must(litdiode_free(sweep, text, sizeof text, &needed));
    must(litdiode_free(settings, text, sizeof text, &needed));
    must(litdiode_handle_count(&handles, text, sizeof text, &needed));
    printf("%u handles in use\n", (unsigned)handles);
    return handles == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
