use litdiode::fit::*;
use litdiode::sweep::*;
fn main() {
    let text = std::fs::read_to_string("tests/data/easwarakhanthan_1986_cell.csv").unwrap();
    let (mut v, mut a) = (vec![], vec![]);
    for l in text.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit() || c == '-')) {
        let mut c = l.split(',').map(|c| c.trim().parse::<f64>().unwrap());
        v.push(c.next().unwrap());
        a.push(c.next().unwrap());
    }
    let s = Sweep::new(&v, &a, SweepOptions { temperature_c: 33.0, ..Default::default() }).unwrap();
    for _ in 0..3000 {
        std::hint::black_box(fit_single_diode(&s, &Options::default()).unwrap());
    }
}
