//! Who may talk to the page: only a browser that was given its address.
//!
//! A page on loopback can be reached by every program and, through a browser,
//! by every web site. So the address holds a random token of 128 bits; the
//! `Host` has to be the loopback address itself (a foreign name that resolves to
//! it is refused); and what changes anything has to come from the page's own
//! `Origin`.

/// The address of a page, and what is let in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Access {
    token: String,
    port: u16,
}

/// Why a request is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The address lacks the token.
    #[error("the address is not the one that was given")]
    Token,
    /// The request was meant for another host.
    #[error("the request names another host")]
    Host,
    /// The request comes from another page.
    #[error("the request comes from another page")]
    Origin,
}

impl Access {
    /// Access to a port of loopback with a token of 128 random bits.
    ///
    /// # Errors
    /// When the system has no random numbers.
    pub fn new(port: u16) -> Result<Access, getrandom::Error> {
        let mut bytes = [0; 16];
        getrandom::fill(&mut bytes)?;
        Ok(Access { token: bytes.iter().map(|byte| format!("{byte:02x}")).collect(), port })
    }

    /// The address to open.
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.token)
    }

    /// The path below the token that a request asks for.
    ///
    /// `changes` says whether the request may change anything or asks for work:
    /// then its origin has to be the page's own; without one it is refused.
    ///
    /// # Errors
    /// Whatever does not come from the page.
    pub fn check<'a>(
        &self,
        target: &'a str,
        host: Option<&str>,
        origin: Option<&str>,
        changes: bool,
    ) -> Result<&'a str, Refused> {
        let own = format!("127.0.0.1:{}", self.port);
        if host != Some(own.as_str()) {
            return Err(Refused::Host);
        }
        let own = format!("http://{own}");
        match origin {
            Some(origin) if origin == own => {}
            None if !changes => {}
            _ => return Err(Refused::Origin),
        }
        let path = target.split(['?', '#']).next().unwrap_or_default();
        let (token, rest) = path.strip_prefix('/').and_then(|path| path.split_once('/')).ok_or(Refused::Token)?;
        if same(token, &self.token) { Ok(rest) } else { Err(Refused::Token) }
    }
}

/// Whether two texts are the same, in a time that does not tell where they differ.
fn same(one: &str, other: &str) -> bool {
    one.len() == other.len() && one.bytes().zip(other.bytes()).fold(0, |sum, (a, b)| sum | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOST: Option<&str> = Some("127.0.0.1:4000");
    const OWN: Option<&str> = Some("http://127.0.0.1:4000");

    fn access() -> Access {
        Access { token: "00ff".into(), port: 4000 }
    }

    #[test]
    fn the_page_gets_in() {
        assert_eq!(access().check("/00ff/", HOST, None, false), Ok(""));
        assert_eq!(access().check("/00ff/try?x", HOST, OWN, true), Ok("try"));
    }

    #[test]
    fn a_wrong_token_is_refused() {
        for target in ["/", "/00fe/", "/00f/", "/00ff0/", "/00ff", "//", "", "/try"] {
            assert_eq!(access().check(target, HOST, OWN, true), Err(Refused::Token), "{target}");
        }
    }

    #[test]
    fn another_host_is_refused() {
        for host in [None, Some("evil.example:4000"), Some("127.0.0.1"), Some("127.0.0.1:4001"), Some("localhost:4000")]
        {
            assert_eq!(access().check("/00ff/", host, None, false), Err(Refused::Host), "{host:?}");
        }
    }

    #[test]
    fn another_origin_is_refused() {
        for origin in
            [Some("http://evil.example"), Some("null"), Some("https://127.0.0.1:4000"), Some("http://127.0.0.1:40")]
        {
            assert_eq!(access().check("/00ff/try", HOST, origin, true), Err(Refused::Origin), "{origin:?}");
            assert_eq!(access().check("/00ff/", HOST, origin, false), Err(Refused::Origin), "{origin:?}");
        }
        assert_eq!(access().check("/00ff/write", HOST, None, true), Err(Refused::Origin));
    }

    #[test]
    fn no_two_tokens_are_alike() {
        let (one, other) = (Access::new(1).unwrap(), Access::new(1).unwrap());
        assert_ne!(one, other);
        assert_eq!(one.token.len(), 32);
    }
}
