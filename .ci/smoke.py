"""Whether an installed litdiode works, away from the repository: `python smoke.py` in its environment."""

import importlib.metadata
import pickle
import subprocess
import sys
from importlib import resources

import litdiode as ld

# The package that was installed, not one that lies about.
assert ld.__file__.startswith(sys.prefix), ld.__file__
print("litdiode", importlib.metadata.version("litdiode"), "in", sys.prefix)

# Known truth: 10 µA of noise on 30 mA; every figure within five standard uncertainties of it.
model = ld.SingleDiode(iph_a=0.030, i0_a=2e-9, n=1.45, rs_ohm=1.0, rsh_ohm=800.0)
sweep = ld.simulate_sweep(model, ld.Instrument(noise_current_a=1e-5), seed=1)
truth, found = model.key_points(), sweep.key_points()
for name in ("isc", "voc", "pmax", "ff"):
    figure, wanted = getattr(found, name), getattr(truth, name)
    assert abs(figure.value - wanted.value) < 5 * figure.u, (name, figure, wanted)
fit = ld.fit_single_diode(sweep)
assert fit.status == "converged", fit
assert abs(fit.parameters["rs"].value - 1.0) < 5 * fit.parameters["rs"].u, fit

# The JSON form and the bundled demo are in the package.
assert pickle.loads(pickle.dumps(fit)).to_json() == fit.to_json()
assert ld.Fit.from_json(fit.to_json()).rms == fit.rms
with resources.as_file(resources.files(ld) / "demo" / "silicon_check.csv") as path:
    assert ld.read_sweep(path).key_points().pmax is not None
assert (resources.files(ld) / "py.typed").is_file() and (resources.files(ld) / "_core.pyi").is_file()
for name in ("report/page.html.j2", "report/page.css", "demo/study.toml"):
    assert resources.files(ld).joinpath(*name.split("/")).is_file(), name
subprocess.run([sys.executable, "-m", "litdiode", "--help"], check=True, stdout=subprocess.DEVNULL)
print("smoke test passed")
