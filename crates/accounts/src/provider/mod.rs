//! An organisation whose accounts let people in, asked by OpenID Connect Core 1.0: authorization code flow with
//! PKCE (RFC 7636), state and nonce. What is made of the answer is decided by whoever asks.

mod claims;
mod error;
mod wire;

pub use error::ProviderError;

use crate::chance::secret;
use crate::limits::{PROVIDER_AGAIN_S, PROVIDER_KEPT_S, SUBJECT_CHARS};
use crate::outside::Outside;
use claims::{Others, Said};
use openidconnect::core::{
    CoreAuthDisplay, CoreAuthPrompt, CoreAuthenticationFlow, CoreClientAuthMethod,
    CoreErrorResponseType, CoreGenderClaim, CoreJsonWebKey, CoreJweContentEncryptionAlgorithm,
    CoreJwsSigningAlgorithm, CoreProviderMetadata, CoreRevocableToken, CoreRevocationErrorResponse,
    CoreTokenIntrospectionResponse, CoreTokenType,
};
use openidconnect::{
    AccessToken, AccessTokenHash, AuthType, AuthorizationCode, ClaimsVerificationError, Client,
    ClientId, ClientSecret, CsrfToken, EmptyExtraTokenFields, EndpointMaybeSet, EndpointNotSet,
    EndpointSet, IdTokenClaims, IdTokenFields, IdTokenVerifier, IssuerUrl, Nonce,
    OAuth2TokenResponse as _, PkceCodeChallenge, PkceCodeVerifier, RedirectUrl, Scope,
    SignatureVerificationError, StandardErrorResponse, StandardTokenResponse, TokenResponse as _,
    UserInfoClaims,
};
use std::borrow::Cow;
use std::fmt;
use std::time::{Duration, Instant};
use tokio::sync::Mutex;
use wire::Wire;

/// Something that nobody may read; it is not printed.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// Keep it.
    pub fn new(secret: impl Into<String>) -> Self {
        Self(secret.into())
    }

    /// The secret itself.
    pub fn shown(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("…")
    }
}

/// How an organisation is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProviderOptions {
    /// Its issuer's address, as it writes it itself.
    pub issuer: String,
    /// What it calls this program.
    pub client_id: String,
    /// What this program shows it.
    pub client_secret: Secret,
    /// What is asked for beside `openid`.
    pub scopes: Vec<String>,
    /// Which claim names the groups somebody is in.
    pub groups_claim: String,
}

/// A sign-in that was begun.
#[derive(Debug, Clone)]
pub struct Begun {
    /// Where the browser is to go.
    pub address: String,
    /// What comes back with it, and belongs to nobody else's.
    pub state: Secret,
    /// What has to stand in the token.
    pub nonce: Secret,
    /// What shows that the code is this program's.
    pub verifier: Secret,
    /// What the browser keeps meanwhile, and no other has.
    pub browser: Secret,
}

/// Who came back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Returned {
    /// Who, for the organisation.
    pub outside: Outside,
    /// What they are called there, if that is said.
    pub name: Option<String>,
    /// Groups they are in there.
    pub groups: Vec<String>,
}

/// An organisation whose accounts let people in.
#[derive(Debug)]
pub struct Provider {
    options: ProviderOptions,
    issuer: IssuerUrl,
    wire: Wire,
    memory: Mutex<Memory>,
}

/// What is remembered of it.
#[derive(Debug, Default)]
struct Memory {
    known: Option<Known>,
    /// When it last did not answer, and how.
    away: Option<(Instant, String)>,
}

/// What it said of itself, with its keys.
#[derive(Debug, Clone)]
struct Known {
    metadata: CoreProviderMetadata,
    at: Instant,
}

type Fields = IdTokenFields<
    Others,
    EmptyExtraTokenFields,
    CoreGenderClaim,
    CoreJweContentEncryptionAlgorithm,
    CoreJwsSigningAlgorithm,
>;

type Answer = StandardTokenResponse<Fields, CoreTokenType>;

type Asking = Client<
    Others,
    CoreAuthDisplay,
    CoreGenderClaim,
    CoreJweContentEncryptionAlgorithm,
    CoreJsonWebKey,
    CoreAuthPrompt,
    StandardErrorResponse<CoreErrorResponseType>,
    Answer,
    CoreTokenIntrospectionResponse,
    CoreRevocableToken,
    CoreRevocationErrorResponse,
    EndpointSet,
    EndpointNotSet,
    EndpointNotSet,
    EndpointNotSet,
    EndpointMaybeSet,
    EndpointMaybeSet,
>;

impl Provider {
    /// Nothing is asked of it yet.
    ///
    /// # Errors
    /// [`ProviderError`]: the issuer is no address that can be trusted.
    pub fn new(options: ProviderOptions) -> Result<Self, ProviderError> {
        let unfit = || ProviderError::Issuer {
            found: options.issuer.chars().take(200).collect(),
        };
        let issuer = IssuerUrl::new(options.issuer.clone()).map_err(|_| unfit())?;
        let address = issuer.url();
        let is_bare = address.query().is_none() && address.fragment().is_none();
        if !wire::may_be_asked(address) || !is_bare {
            return Err(unfit());
        }
        let wire = Wire::new(address.scheme() == "http")?;
        Ok(Self {
            options,
            issuer,
            wire,
            memory: Mutex::default(),
        })
    }

    /// Its issuer, as it is written into what it signs.
    pub fn issuer(&self) -> &str {
        self.issuer.as_str()
    }

    /// Begin a sign-in that comes back to this address of this program. `anew`: somebody is to show who they are
    /// again, whether the organisation remembers them or not.
    ///
    /// # Errors
    /// [`ProviderError`]: it cannot be reached, or answers what cannot be used.
    pub async fn begin(&self, back_to: &str, anew: bool) -> Result<Begun, ProviderError> {
        let asking = self.asking(None).await?;
        let [state, nonce, browser] = [secret()?, secret()?, secret()?];
        let (challenge, verifier) = PkceCodeChallenge::new_random_sha256();
        let (for_url, in_token) = (state.clone(), nonce.clone());
        let back_to = redirect(back_to)?;
        let mut request = asking
            .authorize_url(
                CoreAuthenticationFlow::AuthorizationCode,
                move || CsrfToken::new(for_url),
                move || Nonce::new(in_token),
            )
            .set_redirect_uri(Cow::Owned(back_to))
            .set_pkce_challenge(challenge)
            .add_scopes(self.options.scopes.iter().cloned().map(Scope::new));
        if anew {
            request = request
                .add_prompt(CoreAuthPrompt::Login)
                .set_max_age(Duration::ZERO);
        }
        let (address, _, _) = request.url();
        if !self.wire.may_go(&address) {
            return Err(ProviderError::Elsewhere {
                found: address.host_str().unwrap_or_default().to_owned(),
            });
        }
        Ok(Begun {
            address: address.into(),
            state: Secret::new(state),
            nonce: Secret::new(nonce),
            verifier: Secret::new(verifier.into_secret()),
            browser: Secret::new(browser),
        })
    }

    /// Who came back with this code, to this address, from the sign-in that was begun.
    ///
    /// # Errors
    /// [`ProviderError`]: it cannot be reached, does not know the code, or what it gave is not good.
    pub async fn finish(
        &self,
        code: &str,
        back_to: &str,
        begun: &Begun,
        now_s: i64,
    ) -> Result<Returned, ProviderError> {
        let asking = self.asking(None).await?;
        let http = |request| self.wire.ask(request);
        let answer = asking
            .exchange_code(AuthorizationCode::new(code.to_owned()))
            .map_err(|error| ProviderError::unusable(&self.issuer, &error))?
            .set_redirect_uri(Cow::Owned(redirect(back_to)?))
            .set_pkce_verifier(PkceCodeVerifier::new(begun.verifier.shown().to_owned()))
            .request_async(&http)
            .await
            .map_err(|error| ProviderError::of_token(&self.issuer, &error))?;
        let nonce = Nonce::new(begun.nonce.shown().to_owned());
        let claims = match verified(&asking, &answer, &nonce) {
            // Keys change; who has been known for a while may have a new one.
            Err(ProviderError::KeyUnknown) => {
                let again = Duration::from_secs(PROVIDER_AGAIN_S);
                let asking = self.asking(Some(again)).await?;
                verified(&asking, &answer, &nonce)?
            }
            other => other?,
        };
        let subject = claims.subject().as_str();
        if subject.is_empty() || subject.chars().count() > SUBJECT_CHARS {
            return Err(ProviderError::Token {
                found: "a subject that is empty or too long".into(),
            });
        }
        let mut said = Said::of_token(&claims, &self.options.groups_claim);
        if said.lacks_something()
            && let Some(more) = self
                .more(&asking, answer.access_token().clone(), &claims)
                .await?
        {
            said = said.or(Said::of_user(&more, &self.options.groups_claim));
        }
        let proved_s = claims.auth_time().map_or(now_s, |at| at.timestamp());
        Ok(Returned {
            outside: Outside {
                issuer: self.issuer.as_str().to_owned(),
                subject: subject.to_owned(),
                proved_s,
            },
            name: said.name,
            groups: said.groups.unwrap_or_default(),
        })
    }

    /// What it says of somebody beside the token; none where it says nothing.
    async fn more(
        &self,
        asking: &Asking,
        access: AccessToken,
        claims: &IdTokenClaims<Others, CoreGenderClaim>,
    ) -> Result<Option<UserInfoClaims<Others, CoreGenderClaim>>, ProviderError> {
        let Ok(request) = asking.user_info(access, Some(claims.subject().clone())) else {
            return Ok(None);
        };
        let http = |request| self.wire.ask(request);
        request
            .request_async(&http)
            .await
            .map(Some)
            .map_err(|error| ProviderError::unusable(&self.issuer, &error))
    }

    /// What asks it. What is known of it serves for a while, or only if it is younger than `younger`; where it
    /// cannot be had anew, older knowledge goes on serving.
    async fn asking(&self, younger: Option<Duration>) -> Result<Asking, ProviderError> {
        let kept = younger.unwrap_or(Duration::from_secs(PROVIDER_KEPT_S));
        let mut memory = self.memory.lock().await;
        let is_young = |known: &Known| known.at.elapsed() < kept;
        if !memory.known.as_ref().is_some_and(is_young) {
            self.learn(&mut memory).await;
        }
        let metadata = match &*memory {
            Memory {
                known: Some(known), ..
            } => known.metadata.clone(),
            Memory { known: None, away } => {
                return Err(ProviderError::Away {
                    place: self.issuer.to_string(),
                    found: away
                        .as_ref()
                        .map_or_else(String::new, |(_, said)| said.clone()),
                });
            }
        };
        drop(memory);
        let by_post = wants_post(&metadata);
        let asking: Asking = Client::from_provider_metadata(
            metadata,
            ClientId::new(self.options.client_id.clone()),
            Some(ClientSecret::new(
                self.options.client_secret.shown().to_owned(),
            )),
        );
        Ok(if by_post {
            asking.set_auth_type(AuthType::RequestBody)
        } else {
            asking
        })
    }

    /// Ask what it says of itself; not again at once where it did not answer, so that nobody waits for those who
    /// asked before.
    async fn learn(&self, memory: &mut Memory) {
        let again = Duration::from_secs(PROVIDER_AGAIN_S);
        if matches!(&memory.away, Some((at, _)) if at.elapsed() < again) {
            return;
        }
        let http = |request| self.wire.ask(request);
        match CoreProviderMetadata::discover_async(self.issuer.clone(), &http).await {
            Ok(metadata) => {
                memory.away = None;
                memory.known = Some(Known {
                    metadata,
                    at: Instant::now(),
                });
            }
            Err(error) => memory.away = Some((Instant::now(), error::in_full(&error))),
        }
    }
}

/// Whether the secret is taken in the body alone; otherwise it goes into the header (RFC 6749, 2.3.1).
fn wants_post(metadata: &CoreProviderMetadata) -> bool {
    metadata
        .token_endpoint_auth_methods_supported()
        .is_some_and(|methods| {
            methods.contains(&CoreClientAuthMethod::ClientSecretPost)
                && !methods.contains(&CoreClientAuthMethod::ClientSecretBasic)
        })
}

fn redirect(back_to: &str) -> Result<RedirectUrl, ProviderError> {
    RedirectUrl::new(back_to.to_owned()).map_err(|error| ProviderError::Unusable {
        place: back_to.to_owned(),
        found: error.to_string(),
    })
}

/// What a token says, once issuer, audience, signature, expiry and nonce are right.
fn verified(
    asking: &Asking,
    answer: &Answer,
    nonce: &Nonce,
) -> Result<IdTokenClaims<Others, CoreGenderClaim>, ProviderError> {
    let bad = |found: String| ProviderError::Token { found };
    let token = answer.id_token().ok_or_else(|| bad("no ID token".into()))?;
    let verifier = public_keys_alone(asking.id_token_verifier());
    let claims = token
        .claims(&verifier, nonce)
        .map_err(|error| match error {
            // Not every provider names the key that it signs with: then it is tried, and does not fit.
            ClaimsVerificationError::SignatureVerification(
                SignatureVerificationError::NoMatchingKey
                | SignatureVerificationError::AmbiguousKeyId(_)
                | SignatureVerificationError::CryptoError(_),
            ) => ProviderError::KeyUnknown,
            other => bad(error::in_full(&other)),
        })?;
    if let Some(expected) = claims.access_token_hash() {
        let hash = token
            .signing_alg()
            .and_then(|alg| Ok((alg, token.signing_key(&verifier)?)))
            .map_err(|error| bad(error.to_string()))
            .and_then(|(alg, key)| {
                AccessTokenHash::from_token(answer.access_token(), alg, key)
                    .map_err(|error| bad(error.to_string()))
            })?;
        if hash != *expected {
            return Err(bad("an access token of another sign-in".into()));
        }
    }
    Ok(claims.clone())
}

/// Signatures that only the organisation can make; not those by the secret that is shared with it.
fn public_keys_alone(
    verifier: IdTokenVerifier<'_, CoreJsonWebKey>,
) -> IdTokenVerifier<'_, CoreJsonWebKey> {
    use CoreJwsSigningAlgorithm as By;
    verifier.set_allowed_algs([
        By::RsaSsaPkcs1V15Sha256,
        By::RsaSsaPkcs1V15Sha384,
        By::RsaSsaPkcs1V15Sha512,
        By::RsaSsaPssSha256,
        By::RsaSsaPssSha384,
        By::RsaSsaPssSha512,
        By::EcdsaP256Sha256,
        By::EcdsaP384Sha384,
        By::EdDsa,
    ])
}

#[cfg(test)]
mod tests;
