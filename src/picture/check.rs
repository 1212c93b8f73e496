//! What every picture must keep, for the tests of all of them.

use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

use super::lettering::{CAPITALS, width};
use super::palette::Ground;
use super::palette::tests::contrast;

/// An element as read back.
#[derive(Debug, Default)]
pub(super) struct Element {
    pub(super) name: String,
    pub(super) attributes: Vec<(String, String)>,
    /// The text directly in it.
    pub(super) text: String,
    /// The places of those that it lies in, the outermost first.
    pub(super) within: Vec<usize>,
}

impl Element {
    pub(super) fn get(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    fn number(&self, name: &str) -> i64 {
        self.get(name).unwrap_or("0").parse().unwrap()
    }
}

/// Reads a document back; panics where it is not well formed.
pub(super) fn parse(text: &str) -> Vec<Element> {
    let mut reader = Reader::from_str(text);
    let (mut elements, mut open): (Vec<Element>, Vec<usize>) = (Vec::new(), Vec::new());
    let made = |start: &BytesStart<'_>, open: &[usize]| Element {
        name: start.name().as_ref().to_owned(),
        attributes: start
            .attributes()
            .map(|attribute| {
                let attribute = attribute.unwrap(); // refuses an attribute that is there twice
                let value = attribute.normalized_value(XmlVersion::Implicit1_0).unwrap().into_owned();
                (attribute.key.as_ref().to_owned(), value)
            })
            .collect(),
        within: open.to_vec(),
        ..Element::default()
    };
    loop {
        match reader.read_event().unwrap() {
            Event::Start(start) => {
                assert!(!open.is_empty() || elements.is_empty(), "more than one root");
                let element = made(&start, &open);
                open.push(elements.len());
                elements.push(element);
            }
            Event::Empty(start) => elements.push(made(&start, &open)),
            Event::End(_) => drop(open.pop().unwrap()),
            Event::Text(text) => match open.last() {
                Some(at) => elements[*at].text.push_str(&text),
                None => assert!(text.trim().is_empty(), "text outside the root"),
            },
            Event::GeneralRef(reference) => {
                let name: &str = &reference;
                let c = quick_xml::escape::resolve_predefined_entity(name).unwrap();
                elements[*open.last().unwrap()].text.push_str(c);
            }
            Event::Eof => break,
            other => panic!("unexpected {other:?}"),
        }
    }
    assert!(open.is_empty());
    elements
}

/// Where a text is drawn, at the most: left, top, right, bottom.
fn extent(element: &Element) -> [i64; 4] {
    let (x, y, size) = (element.number("x"), element.number("y"), element.number("font-size"));
    let wide = width(&element.text, size, element.get("font-weight").is_some());
    let left = match element.get("text-anchor") {
        Some("middle") => x - wide / 2,
        Some(_) => x - wide,
        None => x,
    };
    [left, y - size * CAPITALS / 100, left + wide, y]
}

/// The laws of every picture: well formed, named for those who do not see it, whole numbers, every reference goes somewhere,
/// no text outside or over another, each at least 4.5:1 against what lies beneath it (WCAG 2.1, 1.4.3). Gives back the elements.
pub(super) fn laws(text: &str) -> Vec<Element> {
    let elements = parse(text);
    let root = &elements[0];
    assert_eq!((root.name.as_str(), root.get("role")), ("svg", Some("img")));
    assert_eq!(root.get("xmlns"), Some("http://www.w3.org/2000/svg"));
    let ids: Vec<&str> = elements.iter().filter_map(|element| element.get("id")).collect();
    assert!(ids.iter().enumerate().all(|(at, id)| !ids[..at].contains(id)), "an id is there twice");
    let labels: Vec<&str> = root.get("aria-labelledby").unwrap().split(' ').collect();
    assert_eq!(labels.len(), 2);
    for (label, name) in labels.iter().zip(["title", "desc"]) {
        let named = elements.iter().find(|element| element.get("id") == Some(*label)).unwrap();
        assert_eq!(named.name, name);
        assert_eq!(named.within, [0]);
        assert!(!named.text.trim().is_empty());
    }
    let view: Vec<i64> =
        root.get("viewBox").unwrap().split(' ').map(|number| number.parse().unwrap()).collect();
    let [0, 0, wide, tall] = view[..] else { panic!("{view:?}") };
    assert!(wide > 0 && tall > 0);
    let height = root.get("height").unwrap().strip_suffix("mm").unwrap();
    let (whole, places) = height.split_once('.').unwrap();
    assert!(whole.parse::<u32>().is_ok() && places.len() == 2 && places.parse::<u32>().is_ok());
    let mut texts: Vec<(&Element, [i64; 4])> = Vec::new();
    let mut areas: Vec<&Element> = Vec::new();
    for element in &elements {
        for (key, value) in &element.attributes {
            match key.as_str() {
                "x" | "y" | "x1" | "y1" | "x2" | "y2" | "cx" | "cy" | "r" | "rx" | "font-size"
                | "stroke-width" | "data-key" => assert!(value.parse::<i64>().is_ok(), "{key}={value}"),
                "fill" | "stroke" if value.starts_with("url(#") => {
                    let id = value.strip_prefix("url(#").unwrap().strip_suffix(')').unwrap();
                    assert!(ids.contains(&id), "{value}");
                }
                "width" | "height" if element.name != "svg" => {
                    assert!(value.parse::<i64>().unwrap() > 0, "{key}={value}");
                }
                _ => {}
            }
        }
        if element.name == "rect" && element.get("fill").is_some_and(|fill| fill.starts_with('#')) {
            areas.push(element);
        }
        if element.name == "text" {
            assert!(Ground::ALL.iter().any(|ground| element.get("fill") == Some(ground.ink())));
            assert!(element.number("font-size") >= super::lettering::size::SMALL);
            let extent = extent(element);
            let [left, top, right, bottom] = extent;
            assert!(left >= 0 && top >= 0 && right <= wide && bottom <= tall, "outside: {element:?}\n{text}");
            // Beneath it lies the last area drawn before it.
            let (x, y) = ((left + right) / 2, (top + bottom) / 2);
            let holds = |area: &&Element| {
                let (from, above) = (area.number("x"), area.number("y"));
                let (to, below) = (from + area.number("width"), above + area.number("height"));
                (from..to).contains(&x) && (above..below).contains(&y)
            };
            let ground = areas.iter().copied().rev().find(holds).unwrap().get("fill").unwrap();
            let ink = element.get("fill").unwrap();
            assert!(contrast(ink, ground) >= 4.5, "{ink} on {ground}: {element:?}");
            texts.push((element, extent));
        }
    }
    texts.sort_by_key(|(_, extent)| extent[1]);
    for (at, (one, [left, _, right, bottom])) in texts.iter().enumerate() {
        let below = texts[at + 1..].iter().take_while(|(_, other)| other[1] < *bottom);
        for (other, [other_left, _, other_right, _]) in below {
            assert!(
                other_left >= right || left >= other_right,
                "over one another: {one:?} {other:?}\n{text}"
            );
        }
    }
    elements
}

/// The notes that are drawn: hand, key, and what is written in them, in the order of the document.
pub(super) fn notes(elements: &[Element]) -> Vec<(String, u8, Vec<String>)> {
    let groups = elements.iter().enumerate().filter(|(_, element)| element.get("data-key").is_some());
    groups
        .map(|(at, group)| {
            let inside =
                elements.iter().filter(|element| element.within.contains(&at) && element.name == "text");
            let texts = inside.map(|element| element.text.clone()).collect();
            (group.get("data-hand").unwrap().to_owned(), group.number("data-key") as u8, texts)
        })
        .collect()
}

/// The laws can be broken.
mod tests {
    use super::*;
    use crate::picture::Width;
    use crate::picture::svg::{Look, Svg};

    fn drawn(parts: impl FnOnce(&mut Svg)) -> String {
        let mut svg = Svg::new("title".to_owned(), "description".to_owned());
        parts(&mut svg);
        svg.finish((2_000, 1_000), Width::new(60).unwrap())
    }

    fn broken(text: &str, what: &str) {
        let error = std::panic::catch_unwind(|| laws(text)).unwrap_err();
        let said = error.downcast_ref::<String>().cloned();
        let said = said.or_else(|| error.downcast_ref::<&str>().map(|text| (*text).to_owned())).unwrap();
        assert!(said.contains(what), "{said}");
    }

    #[test]
    fn err_what_the_laws_refuse() {
        let text = |x: i64, y: i64| move |svg: &mut Svg| svg.text(x, y, Look::of(300), "Bb3");
        laws(&drawn(text(10, 400)));
        broken(&drawn(text(1_500, 400)), "outside");
        broken(&drawn(text(-1, 400)), "outside");
        broken(&drawn(text(10, 100)), "outside");
        let two = |x: i64, y: i64| {
            drawn(|svg: &mut Svg| {
                text(10, 400)(svg);
                text(x, y)(svg);
            })
        };
        laws(&two(10, 700));
        laws(&two(700, 400));
        broken(&two(10, 600), "over one another");
        broken(&two(400, 350), "over one another");
        broken(
            &drawn(|svg| {
                svg.empty("rect", &[("width", &900), ("height", &900), ("fill", &"#0072b2")]);
                text(10, 400)(svg);
            }),
            "#000000 on #0072b2",
        );
        broken(&drawn(|svg| svg.empty("rect", &[("x", &1.5)])), "x=1.5");
        broken(
            &drawn(|svg| svg.empty("rect", &[("id", &"a"), ("x", &1)])).replace("desc\"", "title\""),
            "twice",
        );
        broken(&drawn(|svg| svg.empty("rect", &[("fill", &"url(#none)")])), "url(#none)");
        broken(&drawn(text(10, 400)).replace(" role=\"img\"", ""), "left == right");
        broken(&drawn(text(10, 400)).replace("<desc ", "<g "), "expected");
    }
}
