//! Which characters XML can hold.

/// Whether XML 1.0 can hold this character at all, escaped or not (section 2.2 of its specification).
pub(crate) const fn is_allowed(c: char) -> bool {
    !matches!(c, '\0'..='\u{8}' | '\u{B}' | '\u{C}' | '\u{E}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}')
}

/// Whether a character that XML cannot hold may start with this byte of UTF-8: the controls, and the first byte of U+FFFE and
/// U+FFFF, which others share.
#[cfg(feature = "sheet")]
const fn may_refuse(byte: u8) -> bool {
    (byte < 0x20 && byte != b'\t' && byte != b'\n' && byte != b'\r') || byte == 0xEF
}

/// The first character that XML cannot hold, and its place. Many bytes are asked at once; what they leave open is looked at alone.
#[cfg(feature = "sheet")]
pub(crate) fn first_refused(text: &str) -> Option<(usize, char)> {
    const AT_ONCE: usize = 64;
    let mut from = 0;
    loop {
        let bytes = text.as_bytes().get(from..)?;
        let mut clear = 0;
        for chunk in bytes.as_chunks::<AT_ONCE>().0 {
            if chunk.iter().fold(false, |any, byte| any | may_refuse(*byte)) {
                break;
            }
            clear += AT_ONCE;
        }
        let at = from + clear + bytes.get(clear..)?.iter().position(|byte| may_refuse(*byte))?;
        match text.get(at..)?.chars().next()? {
            c if is_allowed(c) => from = at + c.len_utf8(),
            c => return Some((at, c)),
        }
    }
}

#[cfg(all(test, feature = "sheet"))]
mod tests {
    use super::*;

    fn slowly(text: &str) -> Option<(usize, char)> {
        text.char_indices().find(|(_, c)| !is_allowed(*c))
    }

    #[test]
    fn all_characters_behind_any_number_of_others() {
        for c in '\0'..=char::MAX {
            let text = format!("\u{FFFD}é\t{c}x");
            assert_eq!(first_refused(&text), slowly(&text), "U+{:04X}", u32::from(c));
        }
        for before in 0..200 {
            for (filler, c) in
                [("a", '\0'), ("\u{FEFF}", '\u{FFFF}'), ("\n", '\u{1F}'), ("é", 'a'), ("\u{FF5E}", 'a')]
            {
                let text = format!("{}{c}{}", filler.repeat(before), filler.repeat(70));
                assert_eq!(first_refused(&text), slowly(&text), "{before} {filler:?} {c:?}");
            }
        }
        assert_eq!(first_refused(""), None);
    }
}
