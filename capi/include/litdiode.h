/* The C interface of litdiode: photovoltaic current-voltage curves. Made by cbindgen (capi/header); do not edit.
 *
 * Every function returns a status: 0 (LITDIODE_OK), or a number above 0 that says what is wrong. It ends with a text
 * buffer of the caller: `text` takes at most `text_capacity` bytes of UTF-8 with a 0 byte at the end, and `text_needed`
 * how many bytes all of it takes; text may be null, and text_needed as well. After a fault the text says what to do;
 * else it is what the function is asked for, or what must be known with its numbers, or empty.
 *
 * Objects are handles: numbers above 0 and below 2^52, freed by litdiode_free. Numbers are in SI units; one that is not
 * there is NaN. docs/embedding.md says the rest.
 */

#ifndef LITDIODE_H
#define LITDIODE_H

#include <stddef.h>
#include <stdint.h>

// The number of the interface that this header describes. `litdiode_version` tells that of the library.
#define LITDIODE_ABI 1

// Status: done.
#define LITDIODE_OK 0

// The work was stopped by its request to stop.
#define LITDIODE_CANCELLED 1

// A null pointer where there must be none.
#define LITDIODE_NULL_POINTER 1001

// A handle that was never given, or was freed.
#define LITDIODE_BAD_HANDLE 1002

// A handle of another kind than the argument's.
#define LITDIODE_WRONG_KIND 1003

// A length above 100,000,000.
#define LITDIODE_TOO_LONG 1004

// A buffer too short for what was asked for; the text or `text_needed` says how long it must be.
#define LITDIODE_SHORT_BUFFER 1005

// A number that stands for no choice.
#define LITDIODE_NO_CHOICE 1006

// A text that is not UTF-8.
#define LITDIODE_NOT_UTF8 1007

// A text that is not what `litdiode_to_json` wrote.
#define LITDIODE_NOT_JSON 1008

// An index beyond the last.
#define LITDIODE_NO_PLACE 1009

// A number outside its domain.
#define LITDIODE_NUMBER 1010

// Lists whose lengths do not go together.
#define LITDIODE_LENGTH 1011

// As many handles in use as there can be.
#define LITDIODE_TABLE_FULL 1012

// Something that this kind of handle does not have.
#define LITDIODE_WITHOUT 1013

// A fault of the library that was stopped at its border.
#define LITDIODE_PANICKED 1014

// The kind of the handle of a request to stop.
#define LITDIODE_KIND_CANCEL 1

// The kind of the handle of settings of a sweep.
#define LITDIODE_KIND_SWEEP_SETTINGS 2

// The kind of the handle of a sweep.
#define LITDIODE_KIND_SWEEP 3

// The kind of the handle of findings.
#define LITDIODE_KIND_FINDINGS 4

// The kind of the handle of key points.
#define LITDIODE_KIND_KEY_POINTS 5

// The kind of the handle of settings of a fit.
#define LITDIODE_KIND_FIT_SETTINGS 6

// The kind of the handle of a fit.
#define LITDIODE_KIND_FIT 7

// The kind of the handle of a model.
#define LITDIODE_KIND_MODEL 8

// The kind of the handle of models of many devices.
#define LITDIODE_KIND_MODELS 9

// The kind of the handle of measurements of a device.
#define LITDIODE_KIND_MEASUREMENTS 10

// The kind of the handle of resistances.
#define LITDIODE_KIND_RESISTANCES 11

// The kind of the handle of settings of a live sweep.
#define LITDIODE_KIND_LIVE_SETTINGS 12

// The kind of the handle of a live sweep.
#define LITDIODE_KIND_LIVE 13

// The kind of the handle of settings of a plan.
#define LITDIODE_KIND_PLAN_SETTINGS 14

// The kind of the handle of a plan.
#define LITDIODE_KIND_PLAN 15

// `swept`: which quantity was stepped.
#define LITDIODE_SWEPT_VOLTAGE 0

#define LITDIODE_SWEPT_CURRENT 1

// `sign`: the sign convention of the readings.
#define LITDIODE_SIGN_AUTO 0

#define LITDIODE_SIGN_GENERATOR 1

#define LITDIODE_SIGN_LOAD 2

// `leads`: which lead went where.
#define LITDIODE_LEADS_AUTO 0

#define LITDIODE_LEADS_AS_GIVEN 1

#define LITDIODE_LEADS_SWAPPED 2

// `part`: a part of the noise of an instrument. `_V` in V, `_A` in A, `_REL` and `_GAIN_U` shares, offsets in V and A.
#define LITDIODE_NOISE_VOLTAGE_V 0

#define LITDIODE_NOISE_CURRENT_A 1

#define LITDIODE_NOISE_VOLTAGE_REL 2

#define LITDIODE_NOISE_CURRENT_REL 3

#define LITDIODE_NOISE_VOLTAGE_STEP_V 4

#define LITDIODE_NOISE_CURRENT_STEP_A 5

#define LITDIODE_NOISE_VOLTAGE_GAIN_U 6

#define LITDIODE_NOISE_CURRENT_GAIN_U 7

#define LITDIODE_NOISE_VOLTAGE_OFFSET_U 8

#define LITDIODE_NOISE_CURRENT_OFFSET_U 9

#define LITDIODE_NOISE_SCATTER_DOF 10

// `correction`: a correction of the readings by one number. Offsets in V and A are what is read of nothing, and subtracted.
// Gains divide. A sense resistor in Ω divides a current column that holds volts. Leads in Ω add I·R to the voltage, a
// leakage path in Ω adds V/R to the current, both in generator sign.
#define LITDIODE_CORRECTION_VOLTAGE_OFFSET 0

#define LITDIODE_CORRECTION_CURRENT_OFFSET 1

#define LITDIODE_CORRECTION_SENSE_RESISTOR 2

#define LITDIODE_CORRECTION_VOLTAGE_GAIN 3

#define LITDIODE_CORRECTION_CURRENT_GAIN 4

#define LITDIODE_CORRECTION_LEAD_RESISTANCE 5

#define LITDIODE_CORRECTION_LEAKAGE 6

// `axis`: an axis of the readings.
#define LITDIODE_AXIS_VOLTAGE 0

#define LITDIODE_AXIS_CURRENT 1

// `reach`: which points one source of uncertainty moves.
#define LITDIODE_REACH_COMMON 0

#define LITDIODE_REACH_EACH 1

// `severity`: how much a finding says against the figures.
#define LITDIODE_SEVERITY_NOTE 0

#define LITDIODE_SEVERITY_WARNING 1

#define LITDIODE_SEVERITY_FAULT 2

// `figure`: a key point. In A, V, W, V, A, 1, A/cm² and 1.
#define LITDIODE_ISC 0

#define LITDIODE_VOC 1

#define LITDIODE_PMAX 2

#define LITDIODE_V_PMAX 3

#define LITDIODE_I_PMAX 4

#define LITDIODE_FF 5

#define LITDIODE_JSC 6

#define LITDIODE_EFFICIENCY 7

// `parameter`: a parameter of a diode model. IPH, I0, I01 and I02 in A, RS and RSH in Ω.
#define LITDIODE_IPH 100

#define LITDIODE_I0 101

#define LITDIODE_N 102

#define LITDIODE_RS 103

#define LITDIODE_RSH 104

#define LITDIODE_I01 105

#define LITDIODE_N1 106

#define LITDIODE_I02 107

#define LITDIODE_N2 108

// `residual`: the distance that a fit makes small; AUTO goes by the noise that is stated.
#define LITDIODE_RESIDUAL_AUTO 0

#define LITDIODE_RESIDUAL_NEAREST 1

#define LITDIODE_RESIDUAL_CURRENT 2

#define LITDIODE_RESIDUAL_VOLTAGE 3

#define LITDIODE_RESIDUAL_IMPLICIT 4

// `noise_scale`: where the size of the noise comes from.
#define LITDIODE_NOISE_SCALE_STATED 0

#define LITDIODE_NOISE_SCALE_FROM_SCATTER 1

// `method`: where an interval of a fit comes from; AUTO is the profile's where the linear one does not hold.
#define LITDIODE_INTERVAL_AUTO 0

#define LITDIODE_INTERVAL_LINEAR 1

#define LITDIODE_INTERVAL_PROFILE 2

// `quantity`: which resistance.
#define LITDIODE_SERIES 0

#define LITDIODE_SHUNT 1

// `order`: in which order a live sweep gives its set points.
#define LITDIODE_ORDER_FREE 0

#define LITDIODE_ORDER_UP_AND_DOWN 1

// `purpose`: why a set point is asked for.
#define LITDIODE_PURPOSE_BRACKET 0

#define LITDIODE_PURPOSE_INFORMATION 1

#define LITDIODE_PURPOSE_GAP 2

#define LITDIODE_PURPOSE_CONFIRMATION 3

// `flag`: what is odd about a reading of a live sweep.
#define LITDIODE_FLAG_NONE 0

#define LITDIODE_FLAG_WILD 1

#define LITDIODE_FLAG_NOT_FOLLOWED 2

#define LITDIODE_FLAG_BEYOND_LIMITS 3

#define LITDIODE_FLAG_OTHER 4

// `method`: whose uncertainty a plan makes small, that of a fitted model or of key points without one.
#define LITDIODE_PLAN_MODEL 0

#define LITDIODE_PLAN_LOCAL 1

// No or yes, for arguments that say so.
#define LITDIODE_NO 0

#define LITDIODE_YES 1

// An optimum inside the bounds.
#define LITDIODE_FIT_CONVERGED 0

// An optimum with a parameter at its bound.
#define LITDIODE_FIT_AT_BOUND 1

// The data leave at least one parameter open.
#define LITDIODE_FIT_NOT_IDENTIFIED 2

// No optimum, or budget or deadline ended before; the last good state is given.
#define LITDIODE_FIT_NOT_CONVERGED 3

// The target is known as well as was wanted.
#define LITDIODE_STOP_REACHED 961

// Gains and offsets alone leave more than was wanted.
#define LITDIODE_STOP_COMMON_TO_ALL 962

// As many readings as there is room for.
#define LITDIODE_STOP_POINTS_USED_UP 963

// As long as the sweep may take.
#define LITDIODE_STOP_TIME_USED_UP 964

// No reading shows power.
#define LITDIODE_STOP_NO_POWER 965

// A limit lies before the axis where a figure is.
#define LITDIODE_STOP_LIMIT_REACHED 966

// Readings do not go where they are set.
#define LITDIODE_STOP_NOT_FOLLOWED 967

// The instrument gives no numbers.
#define LITDIODE_STOP_NO_NUMBERS 968

// A request to stop; the next call goes on.
#define LITDIODE_STOP_CANCELLED 969

// Readings lie at a limit or beyond it.
#define LITDIODE_STOP_BEYOND_LIMITS 970

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

// The version of the library as text, and in `abi` the number of its interface, which must be LITDIODE_ABI.
int32_t litdiode_version(int32_t *abi, char *text, size_t text_capacity, size_t *text_needed);

// Frees what a handle of any kind stands for. A handle that was freed is never given again.
int32_t litdiode_free(uint64_t handle, char *text, size_t text_capacity, size_t *text_needed);

// The number of handles in use, by which a host finds those that it forgot to free.
int32_t litdiode_handle_count(size_t *count, char *text, size_t text_capacity, size_t *text_needed);

// What a handle stands for: one of LITDIODE_KIND_….
int32_t litdiode_kind(uint64_t handle, int32_t *kind, char *text, size_t text_capacity, size_t *text_needed);

// A sweep, findings, key points, a fit, a model, resistances or a plan as text for people.
int32_t litdiode_text(uint64_t handle, char *text, size_t text_capacity, size_t *text_needed);

// Settings of a sweep, of a live sweep or of a plan, a sweep, findings, key points, a fit, a model, resistances, a live
// sweep or a plan as JSON, without loss. Numbers that are not finite are the words "inf", "-inf", "nan".
int32_t litdiode_to_json(uint64_t handle,
                         char *text,
                         size_t text_capacity,
                         size_t *text_needed);

// The object of this kind that `litdiode_to_json` wrote; resistances are not read.
int32_t litdiode_from_json(int32_t kind,
                           const char *json,
                           uint64_t *handle,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// A request to stop, which functions with an argument `cancel` look at. It sets itself `deadline_s` seconds from now;
// NaN or infinite: never.
int32_t litdiode_cancel_new(double deadline_s,
                            uint64_t *cancel,
                            char *text,
                            size_t text_capacity,
                            size_t *text_needed);

// Asks all work that looks at it to stop, from any thread: it then ends with the status LITDIODE_CANCELLED.
int32_t litdiode_cancel_request(uint64_t cancel, char *text, size_t text_capacity, size_t *text_needed);

// Whether it was asked for, or its deadline is over: 1, else 0.
int32_t litdiode_cancel_requested(uint64_t cancel,
                                  int32_t *requested,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// Settings as they are where nothing is said: voltage stepped, sign and leads recognised, noise unknown, one cell at
// 25 °C. What they hold is checked by `litdiode_sweep_new`, corrections when they are added.
int32_t litdiode_sweep_settings_new(uint64_t *settings,
                                    char *text,
                                    size_t text_capacity,
                                    size_t *text_needed);

// Which quantity was stepped, the sign convention, and which lead went where.
int32_t litdiode_sweep_settings_convention(uint64_t settings,
                                           int32_t swept,
                                           int32_t sign,
                                           int32_t leads,
                                           char *text,
                                           size_t text_capacity,
                                           size_t *text_needed);

// A part of the noise of the instrument, a standard uncertainty; 0 for one that is not stated.
int32_t litdiode_sweep_settings_noise(uint64_t settings,
                                      int32_t part,
                                      double value,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// The name of the instrument: gains and offsets of sweeps by the same one are the same error.
int32_t litdiode_sweep_settings_instrument(uint64_t settings,
                                           const char *name,
                                           char *text,
                                           size_t text_capacity,
                                           size_t *text_needed);

// The illuminated area in cm² with its standard uncertainty in cm², NaN where that is not known.
int32_t litdiode_sweep_settings_area(uint64_t settings,
                                     double area_cm2,
                                     double u,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// The irradiance in W/m² with its standard uncertainty in W/m², NaN where that is not known.
int32_t litdiode_sweep_settings_irradiance(uint64_t settings,
                                           double irradiance_w_m2,
                                           double u,
                                           char *text,
                                           size_t text_capacity,
                                           size_t *text_needed);

// The temperature of the device in °C, and its cells in series.
int32_t litdiode_sweep_settings_device(uint64_t settings,
                                       double temperature_c,
                                       uint32_t cells,
                                       char *text,
                                       size_t text_capacity,
                                       size_t *text_needed);

// The time of each point in s; none for a length of 0.
int32_t litdiode_sweep_settings_times(uint64_t settings,
                                      const double *time_s,
                                      size_t time_length,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// A name for the sweep.
int32_t litdiode_sweep_settings_label(uint64_t settings,
                                      const char *label,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// Adds a correction by one number, with its standard uncertainty, NaN where that is not known. Corrections are applied
// in the order in which they were added.
int32_t litdiode_sweep_settings_correct(uint64_t settings,
                                        int32_t correction,
                                        double value,
                                        double u,
                                        char *text,
                                        size_t text_capacity,
                                        size_t *text_needed);

// Adds a calibration table: readings in rising order and what they stand for, in V or A, linear between its points;
// `u` is the standard uncertainty that is common to all.
int32_t litdiode_sweep_settings_calibrate(uint64_t settings,
                                          int32_t axis,
                                          const double *read,
                                          size_t read_length,
                                          const double *actual,
                                          size_t actual_length,
                                          double u,
                                          char *text,
                                          size_t text_capacity,
                                          size_t *text_needed);

// Adds the subtraction of the currents of a sweep in the dark.
int32_t litdiode_sweep_settings_dark(uint64_t settings,
                                     uint64_t dark,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// Adds a reading of the light beside every point, above 0 in any unit, which takes its drift out.
int32_t litdiode_sweep_settings_monitor(uint64_t settings,
                                        const double *readings,
                                        size_t readings_length,
                                        char *text,
                                        size_t text_capacity,
                                        size_t *text_needed);

// Adds a source of uncertainty: what one standard uncertainty of it does to every voltage in V and every current in A.
int32_t litdiode_sweep_settings_effect(uint64_t settings,
                                       const char *name,
                                       int32_t reach,
                                       const double *voltage_v,
                                       size_t voltage_length,
                                       const double *current_a,
                                       size_t current_length,
                                       char *text,
                                       size_t text_capacity,
                                       size_t *text_needed);

// A sweep of readings in V and A, in the order of measurement, turned to generator sign. `settings` may be 0. A fault of
// a reading names its index.
int32_t litdiode_sweep_new(uint64_t settings,
                           const double *voltage_v,
                           size_t voltage_length,
                           const double *current_a,
                           size_t current_length,
                           uint64_t *sweep,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// The number of points of a sweep, and of what was done to its readings.
int32_t litdiode_sweep_counts(uint64_t sweep,
                              size_t *points,
                              size_t *changes,
                              char *text,
                              size_t text_capacity,
                              size_t *text_needed);

// The points in V and A, generator sign, after corrections, in the order of measurement.
int32_t litdiode_sweep_points(uint64_t sweep,
                              double *voltage_v,
                              size_t voltage_capacity,
                              double *current_a,
                              size_t current_capacity,
                              char *text,
                              size_t text_capacity,
                              size_t *text_needed);

// Change `index` as text, with the evidence; `automatic` is 1 where the library decided it, 0 where it was asked for.
int32_t litdiode_sweep_change(uint64_t sweep,
                              size_t index,
                              int32_t *automatic,
                              char *text,
                              size_t text_capacity,
                              size_t *text_needed);

// What must be known with the figures of a sweep. `thorough` 0: what the readings show at once; 1: also what takes a
// few fits, and figures that no device has, as of a current in mA or an area in m².
int32_t litdiode_findings_new(uint64_t sweep,
                              int32_t thorough,
                              uint64_t cancel,
                              uint64_t *findings,
                              char *text,
                              size_t text_capacity,
                              size_t *text_needed);

// The number of findings.
int32_t litdiode_findings_count(uint64_t findings,
                                size_t *count,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// Finding `index` as text, with its number (docs/embedding.md), its severity, and how many points it is about, 0 where it
// is about the whole.
int32_t litdiode_finding(uint64_t findings,
                         size_t index,
                         int32_t *kind,
                         int32_t *severity,
                         size_t *points,
                         char *text,
                         size_t text_capacity,
                         size_t *text_needed);

// The points that finding `index` is about, counted from 0.
int32_t litdiode_finding_points(uint64_t findings,
                                size_t index,
                                size_t *points,
                                size_t points_capacity,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// Key points of a sweep without a model. `beyond_isc`, `beyond_voc` 1: that figure may be extrapolated by a quarter of
// the range swept.
int32_t litdiode_key_points_new(uint64_t sweep,
                                int32_t beyond_isc,
                                int32_t beyond_voc,
                                uint64_t cancel,
                                uint64_t *key_points,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// A figure with its standard uncertainty (NaN where there is none) and its degrees of freedom (infinite where the noise
// is known), in SI units. A figure that is not there has the number of the reason as status, 800 to 899. The text is
// what must be known with it.
int32_t litdiode_key_points_figure(uint64_t key_points,
                                   int32_t figure,
                                   double *value,
                                   double *u,
                                   double *dof,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// The interval that holds a figure with the probability `level`; an end that is not there is NaN, and the text says why.
int32_t litdiode_key_points_interval(uint64_t key_points,
                                     int32_t figure,
                                     double level,
                                     double *low,
                                     double *high,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// The figures that have an uncertainty, `count` of at most 6, and their covariance in SI units, row by row.
int32_t litdiode_key_points_covariance(uint64_t key_points,
                                       int32_t *figures,
                                       size_t figures_capacity,
                                       double *covariance,
                                       size_t covariance_capacity,
                                       size_t *count,
                                       char *text,
                                       size_t text_capacity,
                                       size_t *text_needed);

// Settings as they are where nothing is said: the residual by the noise that is stated, all parameters free within
// their physical bounds, the budget of docs/speed.md. What they hold is checked by `litdiode_fit_new`.
int32_t litdiode_fit_settings_new(uint64_t *settings,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// The distance that is made small.
int32_t litdiode_fit_settings_residual(uint64_t settings,
                                       int32_t residual,
                                       char *text,
                                       size_t text_capacity,
                                       size_t *text_needed);

// Where the size of the noise comes from.
int32_t litdiode_fit_settings_noise_scale(uint64_t settings,
                                          int32_t noise_scale,
                                          char *text,
                                          size_t text_capacity,
                                          size_t *text_needed);

// Holds a parameter at an SI value.
int32_t litdiode_fit_settings_fix(uint64_t settings,
                                  int32_t parameter,
                                  double value,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// Keeps a parameter between two SI values.
int32_t litdiode_fit_settings_bounds(uint64_t settings,
                                     int32_t parameter,
                                     double low,
                                     double high,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// An SI value that a parameter starts from.
int32_t litdiode_fit_settings_start(uint64_t settings,
                                    int32_t parameter,
                                    double value,
                                    char *text,
                                    size_t text_capacity,
                                    size_t *text_needed);

// How often the residuals may be evaluated, 0 for the budget of docs/speed.md, and how many seconds a fit may take, NaN or
// infinite for any. A fit that uses one of them up is LITDIODE_FIT_NOT_CONVERGED and holds its best state.
int32_t litdiode_fit_settings_budget(uint64_t settings,
                                     size_t most_evaluations,
                                     double deadline_s,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// Fits `diodes` (1 or 2) to a sweep. `settings` and `cancel` may be 0. A fit that does not converge is no error but a
// status of the fit.
int32_t litdiode_fit_new(uint64_t sweep,
                         int32_t diodes,
                         uint64_t settings,
                         uint64_t cancel,
                         uint64_t *fit,
                         char *text,
                         size_t text_capacity,
                         size_t *text_needed);

// A parameter with its standard uncertainty (NaN where there is none, as at a bound) and its degrees of freedom, in SI
// units. The text is what must be known with it.
int32_t litdiode_fit_parameter(uint64_t fit,
                               int32_t parameter,
                               double *value,
                               double *u,
                               double *dof,
                               char *text,
                               size_t text_capacity,
                               size_t *text_needed);

// The interval that holds a parameter or a key point with the probability `level`; an end that is not there is NaN, and
// the text says why.
int32_t litdiode_fit_interval(uint64_t fit,
                              int32_t figure,
                              double level,
                              int32_t method,
                              uint64_t cancel,
                              double *low,
                              double *high,
                              char *text,
                              size_t text_capacity,
                              size_t *text_needed);

// The free parameters, `count` of at most 7, and their covariance in SI units, row by row; 0 of them where the data give
// none.
int32_t litdiode_fit_covariance(uint64_t fit,
                                int32_t *parameters,
                                size_t parameters_capacity,
                                double *covariance,
                                size_t covariance_capacity,
                                size_t *count,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// How far the fit can be believed (LITDIODE_FIT_…), the root mean square of its residuals in their unit, Σr², points less
// free parameters, whether ± comes from the noise that the sweep states (1) or from the scatter (0), and the number of
// its notes.
int32_t litdiode_fit_quality(uint64_t fit,
                             int32_t *status,
                             double *rms,
                             double *chi2,
                             size_t *dof,
                             int32_t *noise_stated,
                             size_t *notes,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// Note `index` as text, and its number, 321 to 336.
int32_t litdiode_fit_note(uint64_t fit,
                          size_t index,
                          int32_t *number,
                          char *text,
                          size_t text_capacity,
                          size_t *text_needed);

// model − measured of each point, in the order of the sweep: in A or V, in units of σ for nearest.
int32_t litdiode_fit_residuals(uint64_t fit,
                               double *residuals,
                               size_t residuals_capacity,
                               char *text,
                               size_t text_capacity,
                               size_t *text_needed);

// Key points by the fitted curve and its covariance.
int32_t litdiode_fit_key_points(uint64_t fit,
                                uint64_t cancel,
                                uint64_t *key_points,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// The fitted model, at the temperature and with the cells of the sweep.
int32_t litdiode_fit_model(uint64_t fit,
                           uint64_t *model,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// A model of `diodes` (1 or 2): 5 parameters in the order iph, i0, n, rs, rsh, or 7 in the order iph, i01, n1, i02, n2, rs,
// rsh, in A, A, 1, Ω, Ω; rsh may be infinite.
int32_t litdiode_model_new(int32_t diodes,
                           const double *parameters,
                           size_t parameters_length,
                           uint32_t cells,
                           double temperature_c,
                           uint64_t *model,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// The parameters of a model in the order of `litdiode_model_new`, `count` of them, its cells and its temperature in °C.
int32_t litdiode_model_parameters(uint64_t model,
                                  double *parameters,
                                  size_t parameters_capacity,
                                  size_t *count,
                                  uint32_t *cells,
                                  double *temperature_c,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// I in A at each voltage in V. Input and output may be the same memory.
int32_t litdiode_model_current(uint64_t model,
                               const double *voltage_v,
                               size_t voltage_length,
                               double *current_a,
                               size_t current_capacity,
                               char *text,
                               size_t text_capacity,
                               size_t *text_needed);

// V in V at each current in A; −∞ where no finite voltage carries it.
int32_t litdiode_model_voltage(uint64_t model,
                               const double *current_a,
                               size_t current_length,
                               double *voltage_v,
                               size_t voltage_capacity,
                               char *text,
                               size_t text_capacity,
                               size_t *text_needed);

// dI/dV in S at each voltage in V.
int32_t litdiode_model_slope(uint64_t model,
                             const double *voltage_v,
                             size_t voltage_length,
                             double *slope_s,
                             size_t slope_capacity,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// P in W at each voltage in V.
int32_t litdiode_model_power(uint64_t model,
                             const double *voltage_v,
                             size_t voltage_length,
                             double *power_w,
                             size_t power_capacity,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// The key points of a model, exact and so without ±.
int32_t litdiode_model_key_points(uint64_t model,
                                  uint64_t *key_points,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// `points` pairs of V and A along the curve for a plot, dense at its knee.
int32_t litdiode_model_curve(uint64_t model,
                             size_t points,
                             double *voltage_v,
                             double *current_a,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// The model at another irradiance in W/m² and temperature in °C; NaN keeps one as it is. Its parameters hold at
// `reference_w_m2`; `isc_per_k` is the relative change of the photocurrent per kelvin, `gap_ev` the band gap in eV.
// `shunt_follows_light` 1: Rsh is proportional to 1/G.
int32_t litdiode_model_at(uint64_t model,
                          double irradiance_w_m2,
                          double temperature_c,
                          double reference_w_m2,
                          double isc_per_k,
                          double gap_ev,
                          int32_t shunt_follows_light,
                          uint64_t *moved,
                          char *text,
                          size_t text_capacity,
                          size_t *text_needed);

// Models of many devices of `diodes` (1 or 2): a table of their parameters, row by row, 5 or 7 in the order of
// `litdiode_model_new`. Cells and temperature in °C are those of all.
int32_t litdiode_models_new(int32_t diodes,
                            const double *parameters,
                            size_t parameters_length,
                            uint32_t cells,
                            double temperature_c,
                            uint64_t *models,
                            char *text,
                            size_t text_capacity,
                            size_t *text_needed);

// I in A of every device at every voltage in V, a row a device, on `threads` threads, 0 for all there are.
int32_t litdiode_models_current(uint64_t models,
                                const double *voltage_v,
                                size_t voltage_length,
                                size_t threads,
                                double *current_a,
                                size_t current_capacity,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// V in V of every device at every current in A, a row a device, on `threads` threads, 0 for all there are.
int32_t litdiode_models_voltage(uint64_t models,
                                const double *current_a,
                                size_t current_length,
                                size_t threads,
                                double *voltage_v,
                                size_t voltage_capacity,
                                char *text,
                                size_t text_capacity,
                                size_t *text_needed);

// Isc, Voc, Pmax, V_Pmax, I_Pmax and FF of every device, 6 in a row, in SI units; FF in the dark is NaN.
int32_t litdiode_models_key_points(uint64_t models,
                                   size_t threads,
                                   double *key_points,
                                   size_t key_points_capacity,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// The sweeps of one device, none yet.
int32_t litdiode_measurements_new(uint64_t *measurements,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// With a sweep under light.
int32_t litdiode_measurements_lit(uint64_t measurements,
                                  uint64_t sweep,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// With one more sweep, at another irradiance and the same temperature.
int32_t litdiode_measurements_more_lit(uint64_t measurements,
                                       uint64_t sweep,
                                       char *text,
                                       size_t text_capacity,
                                       size_t *text_needed);

// With a sweep in the dark, at the same temperature.
int32_t litdiode_measurements_dark(uint64_t measurements,
                                   uint64_t sweep,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// With voltages in V at open circuit over irradiances as parts of that of the lit sweep; `sigma_v` is the scatter of a
// voltage in V, NaN where it is not known.
int32_t litdiode_measurements_implied(uint64_t measurements,
                                      const double *voltage_v,
                                      size_t voltage_length,
                                      const double *suns,
                                      size_t suns_length,
                                      double sigma_v,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// With the ideality factor of a cell and its standard uncertainty, NaN where that is not known.
int32_t litdiode_measurements_ideality(uint64_t measurements,
                                       double n,
                                       double u,
                                       char *text,
                                       size_t text_capacity,
                                       size_t *text_needed);

// Every resistance that the measurements give, and the reason for every one that they do not.
int32_t litdiode_resistances_new(uint64_t measurements,
                                 uint64_t cancel,
                                 uint64_t *resistances,
                                 char *text,
                                 size_t text_capacity,
                                 size_t *text_needed);

// The number of methods that gave a figure, and of those that gave none.
int32_t litdiode_resistances_counts(uint64_t resistances,
                                    size_t *found,
                                    size_t *absent,
                                    char *text,
                                    size_t text_capacity,
                                    size_t *text_needed);

// Resistance `index` in Ω with its standard uncertainty (NaN where there is none) and its degrees of freedom; the text is
// its method.
int32_t litdiode_resistance(uint64_t resistances,
                            size_t index,
                            int32_t *quantity,
                            double *value,
                            double *u,
                            double *dof,
                            char *text,
                            size_t text_capacity,
                            size_t *text_needed);

// The 95 % interval of resistance `index` in Ω; an end that is not there is NaN. The text is what must be known with it.
int32_t litdiode_resistance_interval(uint64_t resistances,
                                     size_t index,
                                     double *low,
                                     double *high,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// How many doubts there are of resistance `index`; the text is what they are, empty where its assumptions hold.
int32_t litdiode_resistance_doubts(uint64_t resistances,
                                   size_t index,
                                   size_t *doubts,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// Which resistance method `index` of those without a figure would have given, the number of the reason, and as text
// its name and the reason.
int32_t litdiode_resistance_absent(uint64_t resistances,
                                   size_t index,
                                   int32_t *quantity,
                                   int32_t *reason,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// The index of the resistance to quote, −1 where there is none, the number of the reason, and as text the reason.
int32_t litdiode_resistance_quote(uint64_t resistances,
                                  int32_t quantity,
                                  int32_t *index,
                                  int32_t *reason,
                                  char *text,
                                  size_t text_capacity,
                                  size_t *text_needed);

// Settings of a live sweep within voltages in V and currents in A that hold 0: FF to 1 % in at most 200 readings. What
// they hold is checked by `litdiode_live_new`. Keep the compliance of the source at the same limits.
int32_t litdiode_live_settings_new(double low_v,
                                   double high_v,
                                   double low_a,
                                   double high_a,
                                   uint64_t *settings,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// The key point that is to be known, and its relative standard uncertainty that is wanted.
int32_t litdiode_live_settings_target(uint64_t settings,
                                      int32_t figure,
                                      double wanted,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// The most power in W, delivered or taken up, NaN for no limit, and a set point that is known to be safe: below Voc, or
// below Isc where the current is set; 0 where none is known.
int32_t litdiode_live_settings_safety(uint64_t settings,
                                      double limit_w,
                                      double safe,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// The most readings, the time in s that the sweep may take, NaN for no limit, and the time in s between setting and
// reading.
int32_t litdiode_live_settings_time(uint64_t settings,
                                    size_t capacity,
                                    double time_limit_s,
                                    double dwell_s,
                                    char *text,
                                    size_t text_capacity,
                                    size_t *text_needed);

// In which order set points are given.
int32_t litdiode_live_settings_order(uint64_t settings,
                                     int32_t order,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// What the sweep is to carry: stepped quantity, sign, leads, noise, area, irradiance, corrections, label.
int32_t litdiode_live_settings_sweep(uint64_t settings,
                                     uint64_t sweep_settings,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// A live sweep before its first reading.
int32_t litdiode_live_new(uint64_t settings,
                          uint64_t *live,
                          char *text,
                          size_t text_capacity,
                          size_t *text_needed);

// The next set point in V or A, how many seconds to wait before the reading, and why it is asked for; `more` is 1. Where
// there is none `more` is 0, the numbers are NaN, and `litdiode_live_reason` says why. The same again until a reading was
// taken.
int32_t litdiode_live_next(uint64_t live,
                           uint64_t cancel,
                           int32_t *more,
                           double *set_point,
                           double *dwell_s,
                           int32_t *purpose,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// Takes a reading in V and A, both as they were read, with its time in s, NaN for none. `flag` is LITDIODE_FLAG_NONE or says what is odd about it, the
// text more of that. A reading that is refused changes nothing: the next set point is the same one.
int32_t litdiode_live_push(uint64_t live,
                           double voltage_v,
                           double current_a,
                           double time_s,
                           int32_t *flag,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// Why there is no next set point: the number of the reason, LITDIODE_STOP_…, and its text; 0 while there is one.
int32_t litdiode_live_reason(uint64_t live,
                             int32_t *reason,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// The number of readings taken, and the relative standard uncertainty of the target as the stop compares it, NaN where there
// is none yet: without stated noise it counts Student's t.
int32_t litdiode_live_progress(uint64_t live,
                               size_t *count,
                               double *relative_u,
                               char *text,
                               size_t text_capacity,
                               size_t *text_needed);

// Key points of a single diode fitted to the readings so far.
int32_t litdiode_live_key_points(uint64_t live,
                                 uint64_t *key_points,
                                 char *text,
                                 size_t text_capacity,
                                 size_t *text_needed);

// The sweep of the readings so far, without those that are wild.
int32_t litdiode_live_sweep(uint64_t live,
                            uint64_t *sweep,
                            char *text,
                            size_t text_capacity,
                            size_t *text_needed);

// The fit of the readings so far, within so many seconds, NaN for any.
int32_t litdiode_live_fit(uint64_t live,
                          double deadline_s,
                          uint64_t *fit,
                          char *text,
                          size_t text_capacity,
                          size_t *text_needed);

// Settings as they are where nothing is said: 25 voltages for the fill factor of the model, no limits. What they hold is
// checked by `litdiode_plan_new`.
int32_t litdiode_plan_settings_new(uint64_t *settings,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// The number of set points, the quantity that is set, and the step of the source in V or A, 0 for none.
int32_t litdiode_plan_settings_points(uint64_t settings,
                                      size_t points,
                                      int32_t swept,
                                      double step,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// A part of the noise of the instrument, a standard uncertainty; without it the noise is that of the sweep of a fit.
int32_t litdiode_plan_settings_noise(uint64_t settings,
                                     int32_t part,
                                     double value,
                                     char *text,
                                     size_t text_capacity,
                                     size_t *text_needed);

// The key point or the parameter whose uncertainty is made small, and by which method.
int32_t litdiode_plan_settings_target(uint64_t settings,
                                      int32_t figure,
                                      int32_t method,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// What every set point keeps to: voltages in V, currents in A, the largest |V·I| in W; infinite for no limit.
int32_t litdiode_plan_settings_limits(uint64_t settings,
                                      double low_v,
                                      double high_v,
                                      double low_a,
                                      double high_a,
                                      double power_w,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// By what share the device may be off in the quantity that is set, NaN where nothing is known.
int32_t litdiode_plan_settings_spread(uint64_t settings,
                                      double spread,
                                      char *text,
                                      size_t text_capacity,
                                      size_t *text_needed);

// One more parameter that the fit will hold.
int32_t litdiode_plan_settings_fix(uint64_t settings,
                                   int32_t parameter,
                                   char *text,
                                   size_t text_capacity,
                                   size_t *text_needed);

// The set points of the next sweep of the expected device: a model, models of many devices that one plan should serve, or
// a fit. `settings` may be 0.
int32_t litdiode_plan_new(uint64_t expected,
                          uint64_t settings,
                          uint64_t cancel,
                          uint64_t *plan,
                          char *text,
                          size_t text_capacity,
                          size_t *text_needed);

// The number of set points and of notes of a plan.
int32_t litdiode_plan_counts(uint64_t plan,
                             size_t *points,
                             size_t *notes,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// What to set, rising, in V or A, and the voltages in V and currents in A that the expected device would show there.
int32_t litdiode_plan_points(uint64_t plan,
                             double *set_points,
                             size_t set_points_capacity,
                             double *voltage_v,
                             size_t voltage_capacity,
                             double *current_a,
                             size_t current_capacity,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// A figure of the expected device, and the standard uncertainty that readings would give it: at the planned set points, at
// as many in equal steps of the voltage, of the current; NaN where they leave it open.
int32_t litdiode_plan_figure(uint64_t plan,
                             int32_t figure,
                             double *value,
                             double *u,
                             double *u_equal_voltage,
                             double *u_equal_current,
                             char *text,
                             size_t text_capacity,
                             size_t *text_needed);

// Note `index` as text, and its number.
int32_t litdiode_plan_note(uint64_t plan,
                           size_t index,
                           int32_t *number,
                           char *text,
                           size_t text_capacity,
                           size_t *text_needed);

// How many set points the relative standard uncertainty `wanted` of the target takes: planned, in equal steps of the
// voltage, of the current, and how many repeats of the plan; 0 where no number does. `settings` may be 0.
int32_t litdiode_points_needed(uint64_t expected,
                               double wanted,
                               uint64_t settings,
                               uint64_t cancel,
                               size_t *planned,
                               size_t *equal_voltage,
                               size_t *equal_current,
                               size_t *repeats,
                               char *text,
                               size_t text_capacity,
                               size_t *text_needed);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* LITDIODE_H */
