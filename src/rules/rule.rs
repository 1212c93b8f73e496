//! A rule as checked: what every rule has, whatever its kind.

use std::ops::Range;
use std::sync::Arc;

use super::case::Case;
use super::condition::Condition;
use super::kind::Kind;
use super::plug_in::{MotionRule, Rule as CodeRule};
use crate::error::{Error, Excerpt, Kind as ErrorKind};

/// What a rule does when it fires.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Points {
    Clash,
    Cost(i32),
    Colour(i32),
    /// A motion rule, or one in code, has points of its own.
    Own,
}

/// What a rule is made of.
#[derive(Clone)]
pub(super) enum Body {
    /// Data of a kind.
    Data(Kind),
    /// Code that looks at one voicing.
    Code(Arc<dyn CodeRule>),
    /// Code that looks at the way from one voicing to the next.
    MotionCode(Arc<dyn MotionRule>),
}

/// Two rules in code are the same where they are the same value.
impl PartialEq for Body {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Data(one), Self::Data(two)) => one == two,
            (Self::Code(one), Self::Code(two)) => Arc::ptr_eq(one, two),
            (Self::MotionCode(one), Self::MotionCode(two)) => Arc::ptr_eq(one, two),
            _ => false,
        }
    }
}

impl std::fmt::Debug for Body {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Data(kind) => kind.fmt(f),
            Self::Code(_) => f.write_str("Code"),
            Self::MotionCode(_) => f.write_str("MotionCode"),
        }
    }
}

/// A rule as checked.
#[derive(Clone, Debug)]
pub(super) struct Rule {
    pub(super) id: String,
    pub(super) message: String,
    pub(super) help: String,
    pub(super) source: String,
    pub(super) condition: Condition,
    pub(super) points: Points,
    pub(super) body: Body,
    pub(super) cases: Vec<Case>,
    /// Where it is written, `None` for a rule in code.
    pub(super) origin: Option<Origin>,
}

/// Rules are equal where they say and do the same, wherever they are written.
impl PartialEq for Rule {
    fn eq(&self, other: &Self) -> bool {
        let texts =
            |rule: &Self| [rule.id.clone(), rule.message.clone(), rule.help.clone(), rule.source.clone()];
        texts(self) == texts(other)
            && self.condition == other.condition
            && self.points == other.points
            && self.body == other.body
            && self.cases == other.cases
    }
}

impl Rule {
    pub(super) fn kind(&self) -> Option<&Kind> {
        match &self.body {
            Body::Data(kind) => Some(kind),
            _ => None,
        }
    }
}

/// A text that holds rules.
pub(super) struct Text {
    pub(super) name: String,
    pub(super) text: String,
}

/// Where a rule or a case is written, and the keys as they stand there.
#[derive(Clone)]
pub(super) struct Origin {
    pub(super) text: Arc<Text>,
    pub(super) span: Range<usize>,
    /// Keys and values of the rule's own, in the order of their names.
    pub(super) said: Vec<(String, String)>,
}

impl std::fmt::Debug for Text {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.name)
    }
}

impl std::fmt::Debug for Origin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.place())
    }
}

/// What is written does not change what a case claims.
impl PartialEq for Origin {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Origin {
    pub(super) fn excerpt(&self) -> Excerpt {
        Excerpt::of_text(Some(&self.text.name), &self.text.text, self.span.clone())
    }

    /// File and line.
    pub(super) fn place(&self) -> String {
        match self.excerpt().line_number() {
            Some(line) => format!("{}:{line}", self.text.name),
            None => self.text.name.clone(),
        }
    }

    /// An error about what stands here.
    pub(super) fn error(&self, message: String) -> Error {
        Error::new(ErrorKind::Rules, message).with_excerpt(self.excerpt())
    }
}
