//! The fake's own certificate, and the CONNECT proxy that leads every host to it.

use std::net::SocketAddr;
use std::sync::Arc;

use rcgen::{
    BasicConstraints, CertificateParams, CertifiedIssuer, ExtendedKeyUsagePurpose, IsCa, KeyPair,
    KeyUsagePurpose,
};
use tokio::io::{AsyncReadExt, AsyncWriteExt, copy_bidirectional};
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::{PrivateKeyDer, PrivatePkcs8KeyDer};

use super::Shared;

/// Names the certificate is good for.
const NAMES: [&str; 6] = [
    "discord.com",
    "*.discord.com",
    "gateway.discord.gg",
    "*.discord.gg",
    "localhost",
    "127.0.0.1",
];

/// Makes a root and a certificate signed by it; gives the root as PEM.
pub fn acceptor() -> (String, TlsAcceptor) {
    let mut root = CertificateParams::new(Vec::new()).expect("no names are good names");
    root.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    root.key_usages = vec![KeyUsagePurpose::KeyCertSign];
    root.distinguished_name
        .push(rcgen::DnType::CommonName, "Root of the fake, for tests");
    let root =
        CertifiedIssuer::self_signed(root, KeyPair::generate().expect("a key")).expect("a root");
    let key = KeyPair::generate().expect("a key");
    let mut leaf = CertificateParams::new(NAMES.map(str::to_owned)).expect("good names");
    leaf.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    leaf.use_authority_key_identifier_extension = true;
    let leaf = leaf.signed_by(&key, &root).expect("a certificate");
    let secret = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
    let config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .expect("the provider knows the versions")
        .with_no_client_auth()
        .with_single_cert(vec![leaf.der().clone()], secret)
        .expect("key and certificate belong together");
    (root.pem(), TlsAcceptor::from(Arc::new(config)))
}

/// Leads every CONNECT to the REST side.
pub async fn proxy(shared: Arc<Shared>, listener: TcpListener, rest: SocketAddr) {
    while let Ok((client, _)) = listener.accept().await {
        tokio::spawn(lead(Arc::clone(&shared), client, rest));
    }
}

async fn lead(shared: Arc<Shared>, mut client: TcpStream, rest: SocketAddr) {
    let head = head(&mut client).await;
    if !head.starts_with("CONNECT ") {
        let first = head.lines().next().unwrap_or_default().to_owned();
        shared.with(|world| world.breach(format!("{first:?} came to the proxy without TLS")));
        return;
    }
    let answered = client
        .write_all(b"HTTP/1.1 200 Connection established\r\n\r\n")
        .await;
    if let (Ok(()), Ok(mut server)) = (answered, TcpStream::connect(rest).await) {
        // Either side may hang up; that ends the other, which is all a proxy owes.
        let _ = copy_bidirectional(&mut client, &mut server).await;
    }
}

async fn head(client: &mut TcpStream) -> String {
    let mut head = Vec::new();
    while !head.ends_with(b"\r\n\r\n") {
        match client.read_u8().await {
            Ok(byte) => head.push(byte),
            Err(_) => break,
        }
    }
    String::from_utf8_lossy(&head).into_owned()
}
