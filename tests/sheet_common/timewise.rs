//! A `score-partwise` as `score-timewise`.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a test fails by panicking"
)]

/// An element's start tag and content, and what follows it.
fn element<'a>(text: &'a str, name: &str) -> Option<(&'a str, &'a str, &'a str)> {
    let open = format!("<{name}");
    let is_start = |at: &usize| text[at + open.len()..].starts_with(['>', '/', ' ', '\t', '\n', '\r']);
    let start = text.match_indices(&open).map(|(at, _)| at).find(is_start)?;
    let (tag, rest) = text[start..].split_once('>').unwrap();
    match tag.strip_suffix('/') {
        Some(tag) => Some((&tag[1..], "", rest)),
        None => {
            let (content, rest) = rest.split_once(&format!("</{name}>")).unwrap();
            Some((&tag[1..], content, rest))
        }
    }
}

/// All elements of a name, and what stands before the first and behind the last.
fn elements<'a>(text: &'a str, name: &str) -> (&'a str, Vec<(&'a str, &'a str)>, &'a str) {
    let (mut found, mut rest) = (Vec::new(), text);
    while let Some((tag, content, behind)) = element(rest, name) {
        found.push((tag, content));
        rest = behind;
    }
    let is_tag = |at: &usize| found.first().is_some_and(|(tag, _)| text[at + 1..].starts_with(tag));
    let before = text.match_indices('<').map(|(at, _)| at).find(is_tag).map_or(text, |at| &text[..at]);
    (before, found, rest)
}

/// The same score ordered by bars: each bar holds the parts that have it, as the XSLT of the standard moves them
/// (`parttime.xsl`, MusicXML 4.0). The numbers of bars are those of the first part that has the bar.
pub(crate) fn timewise(text: &str) -> String {
    let (before, parts, behind) = elements(text, "part");
    let parts: Vec<_> =
        parts.into_iter().map(|(tag, content)| (tag, elements(content, "measure").1)).collect();
    let bars = parts.iter().map(|(_, bars)| bars.len()).max().unwrap_or(0);
    let ordered = |text: &str| text.replace("partwise", "timewise").replace("Partwise", "Timewise");
    let mut out = ordered(before);
    for bar in 0..bars {
        let here: Vec<_> =
            parts.iter().filter_map(|(tag, bars)| bars.get(bar).map(|bar| (*tag, bar.0, bar.1))).collect();
        out += &format!("<{}>\n", here[0].1);
        for (tag, _, content) in here {
            out += &format!("<{tag}>{content}</part>\n");
        }
        out += "</measure>\n";
    }
    out + &ordered(behind)
}
