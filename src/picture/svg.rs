//! Writing SVG: elements, attributes, escapes; every picture with its title and its description.

use crate::characters::is_allowed;
use std::fmt::Display;

use super::lettering::width;
use super::palette::{BLACK, Ground, WHITE};
use super::width::Width;

/// A picture being written. Lengths are whole numbers of the unit that the picture chooses, a hundredth of a millimetre in
/// the natural width.
pub(super) struct Svg {
    out: String,
    open: Vec<&'static str>,
    id: String,
    title: String,
    description: String,
}

/// Attributes by name.
pub(super) type Attributes<'a> = &'a [(&'a str, &'a dyn Display)];

/// Which end of a text its place is.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    pub(super) size: i64,
    pub(super) bold: bool,
    pub(super) anchor: Anchor,
    pub(super) ground: Ground,
}

impl Look {
    /// Black on paper, from here on.
    pub(super) const fn of(size: i64) -> Self {
        Self { size, bold: false, anchor: Anchor::Start, ground: Ground::Paper }
    }

    pub(super) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    pub(super) const fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    pub(super) const fn on(self, ground: Ground) -> Self {
        Self { ground, ..self }
    }

    /// How wide a text is in this look, at the most.
    pub(super) fn width(self, text: &str) -> i64 {
        width(text, self.size, self.bold)
    }
}

impl Svg {
    /// A picture with nothing on it yet. Title and description are what those get who do not see it.
    pub(super) fn new(title: String, description: String) -> Self {
        // Two pictures on one page share their ids only where title and description are the same, and so what those refer to.
        let id = format!("p{:016x}", fingerprint(&[&title, &description]));
        Self { out: String::new(), open: Vec::new(), id, title, description }
    }

    /// The name of a part that others refer to, its own in a page of many pictures.
    pub(super) fn id(&self, part: &str) -> String {
        format!("{}-{part}", self.id)
    }

    fn start(&mut self, name: &str, attributes: Attributes<'_>) {
        self.out.push('<');
        self.out.push_str(name);
        for (key, value) in attributes {
            self.out.push(' ');
            self.out.push_str(key);
            self.out.push_str("=\"");
            escape(&value.to_string(), &mut self.out);
            self.out.push('"');
        }
    }

    /// Opens an element.
    pub(super) fn open(&mut self, name: &'static str, attributes: Attributes<'_>) {
        self.start(name, attributes);
        self.out.push_str(">\n");
        self.open.push(name);
    }

    /// Closes the element opened last.
    pub(super) fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            self.out.push_str("</");
            self.out.push_str(name);
            self.out.push_str(">\n");
        }
    }

    /// An element without content.
    pub(super) fn empty(&mut self, name: &str, attributes: Attributes<'_>) {
        self.start(name, attributes);
        self.out.push_str("/>\n");
    }

    /// An element that holds a text.
    fn leaf(&mut self, name: &str, attributes: Attributes<'_>, text: &str) {
        self.start(name, attributes);
        self.out.push('>');
        escape(text, &mut self.out);
        self.out.push_str("</");
        self.out.push_str(name);
        self.out.push_str(">\n");
    }

    /// What is said of the element opened last to whoever points at it.
    pub(super) fn hint(&mut self, text: &str) {
        self.leaf("title", &[], text);
    }

    /// A rectangle with a thin black outline: its corner, its width and height, its fill.
    pub(super) fn outlined(&mut self, (x, y): (i64, i64), (wide, tall): (i64, i64), fill: &str) {
        let frame: Attributes<'_> = &[
            ("x", &x),
            ("y", &y),
            ("width", &wide),
            ("height", &tall),
            ("fill", &fill),
            ("stroke", &BLACK),
            ("stroke-width", &10),
        ];
        self.empty("rect", frame);
    }

    /// Defines the hatch `stripes`: stripes of a colour on white.
    pub(super) fn stripes(&mut self, colour: &str) {
        let id = self.id("stripes");
        let pattern: Attributes<'_> = &[
            ("id", &id),
            ("width", &160),
            ("height", &160),
            ("patternUnits", &"userSpaceOnUse"),
            ("patternTransform", &"rotate(45)"),
        ];
        self.open("pattern", pattern);
        self.empty("rect", &[("width", &160), ("height", &160), ("fill", &WHITE)]);
        self.empty("rect", &[("width", &80), ("height", &160), ("fill", &colour)]);
        self.close();
    }

    /// A text on its line.
    pub(super) fn text(&mut self, x: i64, y: i64, look: Look, text: &str) {
        let mut attributes: Vec<(&str, &dyn Display)> = vec![("x", &x), ("y", &y), ("font-size", &look.size)];
        match look.anchor {
            Anchor::Start => {}
            Anchor::Middle => attributes.push(("text-anchor", &"middle")),
            Anchor::End => attributes.push(("text-anchor", &"end")),
        }
        if look.bold {
            attributes.push(("font-weight", &"bold"));
        }
        let ink = look.ground.ink();
        attributes.push(("fill", &ink));
        self.leaf("text", &attributes, text);
    }

    /// A straight line.
    pub(super) fn line(&mut self, from: (i64, i64), to: (i64, i64), stroke: &str, thickness: i64) {
        self.dashed_line(from, to, stroke, thickness, None);
    }

    /// The same in dashes, where they are given: lengths of dash and gap.
    pub(super) fn dashed_line(
        &mut self,
        from: (i64, i64),
        to: (i64, i64),
        stroke: &str,
        thickness: i64,
        dashes: Option<&str>,
    ) {
        let mut attributes: Vec<(&str, &dyn std::fmt::Display)> = vec![
            ("x1", &from.0),
            ("y1", &from.1),
            ("x2", &to.0),
            ("y2", &to.1),
            ("stroke", &stroke),
            ("stroke-width", &thickness),
        ];
        if let Some(dashes) = &dashes {
            attributes.push(("stroke-dasharray", dashes));
        }
        self.empty("line", &attributes);
    }

    /// The whole document: `size` in units, which are `across` millimetres wide where it is shown.
    pub(super) fn finish(mut self, size: (i64, i64), across: Width) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        let (title, description) = (self.id("title"), self.id("desc"));
        let body = std::mem::take(&mut self.out);
        let (width, height) = size;
        let tall = Hundredths((i64::from(across.millimetres()) * 100 * height + width / 2) / width.max(1));
        self.open(
            "svg",
            &[
                ("xmlns", &"http://www.w3.org/2000/svg"),
                ("viewBox", &format_args!("0 0 {width} {height}")),
                ("width", &format_args!("{}mm", across.millimetres())),
                ("height", &format_args!("{tall}mm")),
                ("role", &"img"),
                ("aria-labelledby", &format_args!("{title} {description}")),
                ("lang", &"en"),
                ("font-family", &"DejaVu Sans, Verdana, Arial, Helvetica, sans-serif"),
            ],
        );
        let (heading, story) = (std::mem::take(&mut self.title), std::mem::take(&mut self.description));
        self.leaf("title", &[("id", &title)], &heading);
        self.leaf("desc", &[("id", &description)], &story);
        self.empty("rect", &[("width", &width), ("height", &height), ("fill", &WHITE)]);
        self.out.push_str(&body);
        self.close();
        self.out
    }
}

/// A number of hundredths, with two places.
struct Hundredths(i64);

impl Display for Hundredths {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}.{:02}", self.0 / 100, self.0 % 100)
    }
}

/// FNV-1a of 64 bits (Fowler, Noll, Vo; RFC 9923): the same on every machine.
fn fingerprint(texts: &[&str]) -> u64 {
    let bytes = texts.iter().flat_map(|text| text.bytes().chain(std::iter::once(0)));
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// Escapes what XML reserves. Line breaks and tabs become spaces, and what XML cannot hold at all (section 2.2 of its
/// specification) is left out.
fn escape(text: &str, out: &mut String) {
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\r' | '\t' => out.push(' '),
            c if is_allowed(c) => out.push(c),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::check;

    fn picture(title: &str) -> String {
        let mut svg = Svg::new(title.to_owned(), "<none>".to_owned());
        svg.open("g", &[("data-x", &"1 < \"2\" & 3\n")]);
        svg.hint("a & b");
        svg.text(10, 900, Look::of(100).bold().anchored(Anchor::Middle).on(Ground::Paper), title);
        svg.finish((2_000, 1_333), Width::new(60).unwrap())
    }

    #[test]
    fn ok_small() {
        insta::assert_snapshot!(picture("C7 \u{1}<&>"), @r##"
        <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2000 1333" width="60mm" height="39.99mm" role="img" aria-labelledby="p72cb5e1920564924-title p72cb5e1920564924-desc" lang="en" font-family="DejaVu Sans, Verdana, Arial, Helvetica, sans-serif">
        <title id="p72cb5e1920564924-title">C7 &lt;&amp;&gt;</title>
        <desc id="p72cb5e1920564924-desc">&lt;none&gt;</desc>
        <rect width="2000" height="1333" fill="#ffffff"/>
        <g data-x="1 &lt; &quot;2&quot; &amp; 3 ">
        <title>a &amp; b</title>
        <text x="10" y="900" font-size="100" text-anchor="middle" font-weight="bold" fill="#000000">C7 &lt;&amp;&gt;</text>
        </g>
        </svg>
        "##);
    }

    /// Offset basis, and the value for `a`, as the appendix of RFC 9923 has them; ours ends every text with a zero.
    #[test]
    fn ok_fingerprints() {
        assert_eq!(fingerprint(&[]), 0xcbf2_9ce4_8422_2325);
        assert_ne!(fingerprint(&["ab", "c"]), fingerprint(&["a", "bc"]));
        assert_ne!(picture("a"), picture("b"));
    }

    proptest::proptest! {
        /// Whatever a text holds, the document stays well formed and says it.
        #[test]
        fn prop_any_text_is_held(title in proptest::collection::vec(proptest::char::any(), 0..20)) {
            let title: String = title.into_iter().collect();
            let elements = check::parse(&picture(&title));
            let expected: String = title
                .chars()
                .filter(|c| !matches!(c, '\0'..='\u{8}' | '\u{B}' | '\u{C}' | '\u{E}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}'))
                .map(|c| if matches!(c, '\n' | '\r' | '\t') { ' ' } else { c })
                .collect();
            let found = elements.iter().find(|element| element.name == "title").unwrap();
            proptest::prop_assert_eq!(&found.text, &expected);
        }
    }
}
