//! The seats by which a line seals, and why two different seats never seal.

/// One way in which a port seals. The standards are named from memory.
#[derive(Debug, PartialEq, Eq)]
pub struct Seat {
    /// The name as it is shown.
    pub name: &'static str,
    /// Its other names, in small letters.
    pub others: &'static [&'static str],
    /// What seals, as a part of a sentence.
    pub seals: &'static str,
    /// Where it is defined.
    pub standard: &'static str,
}

/// Every seat that the program tells apart.
pub static SEATS: &[Seat] = &[
    Seat {
        name: "inverted flare",
        others: &[
            "double flare",
            "45 flare",
            "45 deg flare",
            "45° flare",
            "sae flare",
        ],
        seals: "a 45° flare folded double",
        standard: "SAE J533, from memory",
    },
    Seat {
        name: "bubble flare",
        others: &["iso flare", "iso bubble flare", "din flare"],
        seals: "a round bead",
        standard: "ISO 4038 and DIN 74234, from memory",
    },
    Seat {
        name: "37 flare",
        others: &["37 deg flare", "37° flare", "jic", "an flare", "an"],
        seals: "a single 37° flare",
        standard: "SAE J514, from memory",
    },
    Seat {
        name: "banjo",
        others: &["banjo bolt"],
        seals: "two flat washers",
        standard: "common practice, no source",
    },
    Seat {
        name: "taper pipe",
        others: &["npt", "nptf"],
        seals: "the tapered thread itself",
        standard: "ASME B1.20.1, from memory",
    },
    Seat {
        name: "o-ring",
        others: &["orb", "o-ring boss"],
        seals: "an O-ring",
        standard: "ISO 11926, from memory",
    },
];

/// A port's text, split into thread and seat.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Port {
    /// The thread, in small letters and without blanks: `3/8-24`, `m10x1`. The whole text if it names no known seat.
    pub thread: String,
    /// The seat; `None` if the text names no known one.
    pub seat: Option<&'static Seat>,
}

impl Port {
    /// Splits a port's text such as `M10x1 bubble flare`.
    pub fn read(text: &str) -> Self {
        let text = folded(text);
        let ends = |seat: &'static Seat| {
            let names = std::iter::once(seat.name).chain(seat.others.iter().copied());
            let ending = names.filter(|name| {
                let before = text.strip_suffix(name);
                before.is_some_and(|before| before.is_empty() || before.ends_with(' '))
            });
            Some((seat, ending.map(str::len).max()?))
        };
        let seat = SEATS
            .iter()
            .filter_map(ends)
            .max_by_key(|(_, length)| *length);
        let length = seat.map_or(0, |(_, length)| length);
        let thread = text[..text.len() - length].replace(' ', "");
        Self {
            thread,
            seat: seat.map(|(seat, _)| seat),
        }
    }
}

/// A text without what two people write differently: capitals, extra blanks, and the sign between two sizes.
pub fn folded(text: &str) -> String {
    let small = text.to_lowercase().replace('×', "x");
    small.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_port_is_a_thread_and_a_seat() {
        for (text, thread, seat) in [
            ("3/8-24 inverted flare", "3/8-24", Some("inverted flare")),
            ("3/8-24  Double Flare", "3/8-24", Some("inverted flare")),
            ("M10 × 1 ISO bubble flare", "m10x1", Some("bubble flare")),
            ("M10x1 iso flare", "m10x1", Some("bubble flare")),
            ("1/8-27 NPT", "1/8-27", Some("taper pipe")),
            ("M12x1 cone", "m12x1cone", None),
            ("banjo", "", Some("banjo")),
        ] {
            let port = Port::read(text);
            assert_eq!(port.thread, thread, "{text}");
            assert_eq!(port.seat.map(|seat| seat.name), seat, "{text}");
        }
        assert_eq!(
            Port::read("span"),
            Port {
                thread: "span".into(),
                seat: None
            }
        );
    }

    #[test]
    fn every_seat_is_read_by_each_of_its_names() {
        for seat in SEATS {
            for name in std::iter::once(&seat.name).chain(seat.others) {
                assert_eq!(
                    Port::read(&format!("M10x1 {name}")).seat,
                    Some(seat),
                    "{name}"
                );
            }
        }
    }
}
