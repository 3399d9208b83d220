//! Letters as they compare: look-alikes and accents folded.

/// Both micro signs become u, raised digits come down, every minus becomes `-`, full-width and no-break forms become plain.
pub(super) fn folded(text: &str) -> String {
    text.chars().map(one).collect()
}

const fn one(c: char) -> char {
    match c {
        'µ' | 'μ' => 'u',
        '²' => '2',
        '³' => '3',
        '¹' => '1',
        '⁰' => '0',
        '⁴' => '4',
        '⁻' | '\u{2212}' | '\u{2013}' | '\u{2014}' | '\u{fe63}' | '\u{ff0d}' | '\u{2010}' | '\u{2011}' => {
            '-'
        }
        '⁺' => '+',
        '\u{a0}' | '\u{2009}' | '\u{202f}' | '\u{2007}' => ' ',
        'º' => '°',
        '∙' | '⋅' | '×' => '·',
        'Ω' => 'Ω',
        _ => c,
    }
}

/// Lower case without accents: how words of six languages compare.
pub(super) fn word(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in folded(text).chars().flat_map(char::to_lowercase) {
        match c {
            'á' | 'à' | 'â' | 'ã' | 'ä' => out.push('a'),
            'é' | 'è' | 'ê' | 'ë' => out.push('e'),
            'í' | 'ì' | 'î' | 'ï' => out.push('i'),
            'ó' | 'ò' | 'ô' | 'õ' | 'ö' => out.push('o'),
            'ú' | 'ù' | 'û' | 'ü' => out.push('u'),
            'ç' => out.push('c'),
            'ñ' => out.push('n'),
            'ß' => out.push_str("ss"),
            c => out.push(c),
        }
    }
    out
}
