//! Words of headings and keys in English, German, French, Spanish, Italian and Portuguese, folded as [`super::fold::word`]
//! folds them (lower case, no accents). From memory of the languages' technical vocabulary.

pub(super) const VOLTAGE: &[&str] = &[
    "v", "u", "e", "voltage", "volt", "volts", "bias", "potential", "spannung", "zellspannung", "tension", "tensione", "tensao",
    "voltaje", "voltagem", "voltaggio", "vcell", "voltmeter", "voltimetro", "voltmetre", "vmeas", "ucell", "vd", "vdut", "vload", "vbias", "vdc",
];
pub(super) const CURRENT: &[&str] = &[
    "i", "current", "currents", "amps", "ampere", "amperes", "strom", "zellstrom", "stromstarke", "stromstaerke", "courant",
    "intensite", "intensidad", "corriente", "corrente", "intensita", "photocurrent", "photostrom", "icell", "ammeter", "amperemeter", "amperimetro", "milliamps", "microamps", "milliampere", "imeas", "id", "idut",
    "iload", "idc",
];
pub(super) const DENSITY: &[&str] = &["j", "density", "densite", "densidad", "densita", "densidade", "stromdichte", "jcell"];
pub(super) const SET: &[&str] = &[
    "set", "setpoint", "source", "sourced", "programmed", "nominal", "target", "applied", "forced", "force", "demand", "soll",
    "sollwert", "sollspannung", "sollstrom", "vorgabe", "consigne", "applique", "appliquee", "consigna", "aplicada", "aplicado",
    "impostata", "impostato", "applicata", "vset", "uset", "iset", "vsource", "isource", "vsoll", "usoll", "isoll", "vapp", "vprog",
    "iprog",
];
pub(super) const MEASURED: &[&str] = &[
    "measured", "meas", "read", "reading", "sensed", "sense", "actual", "ist", "istwert", "mess", "messwert", "gemessen", "gemessene",
    "gemessener", "mesure", "mesuree", "medida", "medido", "misurata", "misurato", "vmeas", "imeas", "average", "avg", "mean",
];
/// Sensors of the light beside the device.
pub(super) const LIGHT_SENSOR: &[&str] = &["monitor", "reference", "referenz", "referenzzelle", "photodiode", "ref", "referencia", "riferimento", "pyranometer"];
/// Columns that describe the scatter of another.
pub(super) const STATISTIC: &[&str] = &[
    "std", "sd", "stdev", "stddev", "error", "err", "uncertainty", "unc", "sigma", "deviation", "dev", "noise", "abweichung",
    "standardabweichung", "fehler", "rauschen", "unsicherheit", "incertitude", "ecart", "incertidumbre", "desviacion", "incertezza",
    "deviazione", "incerteza", "desvio", "sem", "rms",
];
pub(super) const LIMIT: &[&str] =
    &["limit", "compliance", "range", "bereich", "messbereich", "gamme", "rango", "gamma", "grenze", "limite", "gain", "offset"];
pub(super) const TIME: &[&str] = &[
    "time", "zeit", "uhrzeit", "temps", "tiempo", "tempo", "heure", "hora", "ora", "timestamp", "elapsed", "date", "datum", "datetime",
    "fecha", "data", "seconds", "delay",
];
pub(super) const POWER: &[&str] = &["p", "power", "leistung", "puissance", "potencia", "potenza", "watts", "watt"];
pub(super) const RESISTANCE: &[&str] =
    &["r", "resistance", "widerstand", "resistencia", "resistenza", "conductance", "leitwert", "resistor"];
pub(super) const TEMPERATURE: &[&str] =
    &["temperature", "temp", "temperatur", "temperatura", "tcell", "zelltemperatur", "tmodule", "tambient"];
pub(super) const IRRADIANCE: &[&str] = &[
    "irradiance", "illumination", "light", "intensity", "irradiation", "insolation", "bestrahlungsstarke", "bestrahlungsstaerke",
    "einstrahlung", "beleuchtung", "beleuchtungsstarke", "lichtintensitat", "eclairement", "irradiancia", "iluminacion",
    "irraggiamento", "irradianza", "illuminamento", "iluminacao", "monitor", "photodiode", "reference", "referenz", "sun", "suns",
    "pyranometer",
];
pub(super) const INDEX: &[&str] = &[
    "index", "idx", "nr", "no", "number", "num", "n", "point", "points", "pt", "step", "#", "punkt", "messpunkt", "schritt", "ligne",
    "point", "punto", "ponto", "row", "k", "count", "counter", "lfd", "zeile", "passo", "paso",
];
pub(super) const FLAG: &[&str] = &[
    "flag", "flags", "status", "state", "valid", "ok", "quality", "zustand", "etat", "estado", "stato", "remark", "remarks", "comment",
    "comments", "note", "notes", "bemerkung", "kommentar", "remarque", "nota", "observacion", "osservazioni", "error code",
];
/// Columns that say which device or sweep a row belongs to.
pub(super) const DEVICE: &[&str] = &[
    "device", "cell", "sample", "pixel", "sweep", "scan", "run", "curve", "name", "id", "channel", "substrate", "zelle", "probe", "messung",
    "kanal", "kennlinie", "cellule", "echantillon", "mesure", "balayage", "celda", "muestra", "barrido", "cella", "campione",
    "scansione", "misura", "celula", "amostra", "varredura", "direction", "dir", "branch", "richtung", "sens", "sentido", "direccion",
    "direzione", "direcao", "label", "dut", "repeat", "cycle", "zyklus", "ramp",
];
/// Words in brackets that are no unit.
pub(super) const DESCRIPTION: &[&str] = &[
    "light", "dark", "set", "meas", "raw", "cell", "read", "ist", "soll", "avg", "mean", "am", "forward", "reverse", "fwd", "rev", "up",
    "down", "hell", "dunkel", "1", "2", "3", "4",
];

/// First cells of rows that summarise the table.
pub(super) const SUMMARY: &[&str] = &[
    "mean", "average", "avg", "std", "stdev", "std dev", "sd", "max", "min", "maximum", "minimum", "median", "sum", "total", "mittelwert",
    "mittel", "standardabweichung", "moyenne", "ecart type", "ecart-type", "media", "promedio", "desviacion", "desvio", "somme", "summe",
    "suma", "somma", "count", "range", "variance", "varianz", "std.", "std. dev.", "dev", "deviazione",
];
