//! Errors of this package, and errors of the engine as a person reads them.

use std::fmt;

use datafusion::error::DataFusionError;

/// Something that this package does not do, in the manner of the library's errors: what was found, and what would help.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct Refusal {
    message: String,
    help: String,
}

impl Refusal {
    /// A message of one line, and what would help.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: help.into() }
    }

    /// What would help.
    pub fn help(&self) -> &str {
        &self.help
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Refusal {}

impl From<Refusal> for DataFusionError {
    fn from(refusal: Refusal) -> Self {
        Self::External(Box::new(refusal))
    }
}

/// An error of the library on its way through the engine.
pub(crate) fn through(error: overshell::Error) -> DataFusionError {
    DataFusionError::External(Box::new(error))
}

/// The error of that type which an error of the engine carries.
fn carried<T: std::error::Error + 'static>(error: &DataFusionError) -> Option<&T> {
    let mut at: Option<&(dyn std::error::Error + 'static)> = Some(error);
    while let Some(error) = at {
        if let Some(found) = error.downcast_ref::<T>() {
            return Some(found);
        }
        at = error.source();
    }
    None
}

/// The whole story on several lines: of an error of the library with the marked text and the help, of any other what the engine
/// says.
pub fn report(error: &DataFusionError) -> String {
    if let Some(error) = carried::<overshell::Error>(error) {
        return error.report();
    }
    if let Some(refusal) = carried::<Refusal>(error) {
        return format!("error: {refusal}\nhelp: {}", refusal.help);
    }
    format!("error: the query fails: {}", error.strip_backtrace())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_reports_find_the_error_within() {
        let within = "C7q".parse::<overshell::Chord>().unwrap_err();
        let error = DataFusionError::Context("while running".to_owned(), Box::new(through(within.clone())));
        assert_eq!(report(&error), within.report());
        let refusal = Refusal::new("no", "ask for less");
        let error = DataFusionError::Context("while running".to_owned(), Box::new(refusal.into()));
        assert_eq!(report(&error), "error: no\nhelp: ask for less");
        let error = DataFusionError::Plan("no such column".to_owned());
        assert!(report(&error).starts_with("error: the query fails: ") && report(&error).contains("no such"));
    }
}
