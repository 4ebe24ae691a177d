//! Bench files to devices, what thermometers tell, and the other ends of wires.

use meltrange_bench::{
    BenchClock, BenchFile, Connections, Heater, OpenedThermometer, ThermometerNews, open_heater,
    open_thermometer,
};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;
use tokio::sync::mpsc::{self, Receiver};
use tokio::task::JoinHandle;
use tokio_modbus::server::Service;
use tokio_modbus::{ExceptionCode, Request, Response, SlaveRequest};
use tokio_serial::{SerialPort as _, SerialStream};

/// Longest wait for news: the longest wait between attempts, and then some.
const PATIENCE: Duration = Duration::from_secs(8);

/// A bench file with these tables.
pub fn bench(tables: &str) -> BenchFile {
    let text = format!("name = \"North\"\nplaces = 3\nroom_c = 22.0\nmax_c = 300.0\n{tables}");
    BenchFile::parse(&text, Path::new("north.toml")).expect("a sound bench file")
}

/// A thermometer that is telling.
pub struct Hearing {
    news: Receiver<ThermometerNews>,
    task: JoinHandle<()>,
}

impl Hearing {
    pub fn of(tables: &str) -> Self {
        Self::with(tables, &mut Connections::new())
    }

    pub fn with(tables: &str, connections: &mut Connections) -> Self {
        let opened = open_thermometer(&bench(tables).thermometer, connections);
        let OpenedThermometer { thermometer, .. } = opened.expect("a kind that is there");
        let (to, news) = mpsc::channel(64);
        let task = tokio::spawn(thermometer.tell(BenchClock::start(), to));
        Self { news, task }
    }

    pub async fn next(&mut self) -> ThermometerNews {
        tokio::time::timeout(PATIENCE, self.news.recv())
            .await
            .expect("news in time")
            .expect("it goes on telling")
    }

    /// The next temperature; anything else is a failure.
    pub async fn temperature(&mut self) -> f64 {
        match self.next().await {
            ThermometerNews::Sample(sample) => sample.temperature_c,
            other => panic!("{other:?} instead of a temperature"),
        }
    }

    /// Why the next answer cannot be read; anything else is a failure.
    pub async fn unreadable(&mut self) -> String {
        match self.next().await {
            ThermometerNews::Unreadable { why, .. } => why,
            other => panic!("{other:?} instead of something unreadable"),
        }
    }

    /// Pass over temperatures and what cannot be read until it is lost; why.
    pub async fn lost(&mut self) -> String {
        loop {
            match self.next().await {
                ThermometerNews::Lost { why, .. } => return why,
                ThermometerNews::Found { .. } => panic!("found before it was lost"),
                _ => {}
            }
        }
    }

    /// The next news has to be that it is found.
    pub async fn found(&mut self) {
        match self.next().await {
            ThermometerNews::Found { .. } => {}
            other => panic!("{other:?} instead of found"),
        }
    }

    /// Nothing is told for a while.
    pub async fn quiet(&mut self, seconds: f64) {
        let wait = Duration::from_secs_f64(seconds);
        if let Ok(news) = tokio::time::timeout(wait, self.news.recv()).await {
            panic!("{news:?} although nothing happened");
        }
    }

    /// It ends when nobody listens.
    pub async fn ends(self) {
        drop(self.news);
        tokio::time::timeout(PATIENCE, self.task)
            .await
            .expect("ends in time")
            .expect("without a panic");
    }
}

pub fn heater(tables: &str) -> Box<dyn Heater> {
    open_heater(&bench(tables).heater, &mut Connections::new()).expect("a kind that is there")
}

/// A serial adapter that can be pulled and plugged in again: a pseudo-terminal under a name that stays.
pub struct Socket {
    folder: tempfile::TempDir,
}

impl Socket {
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    pub fn port(&self) -> PathBuf {
        self.folder.path().join("ttyBench")
    }

    /// Plug in; the device's end of the wire, and this side's, which has to stay open.
    pub fn plug(&self) -> (SerialStream, SerialStream) {
        let (device, ours) = SerialStream::pair().expect("a pseudo-terminal");
        let name = ours.name().expect("it has a name");
        // The name of the one that was pulled.
        let _ = std::fs::remove_file(self.port());
        std::os::unix::fs::symlink(name, self.port()).expect("a link");
        (device, ours)
    }

    /// Pull: what was plugged in is dropped by the caller.
    pub fn pull(&self) {
        std::fs::remove_file(self.port()).expect("it was plugged in");
    }
}

/// What a Modbus device holds and was told.
#[derive(Debug, Default)]
pub struct Registers {
    pub input: BTreeMap<u16, u16>,
    pub holding: BTreeMap<u16, u16>,
    pub coils: BTreeMap<u16, bool>,
    /// What was written, in order: "6=1216" a register, "c3=true" a coil.
    pub written: Vec<String>,
    /// Holding registers that are limited to a largest value.
    pub most: BTreeMap<u16, u16>,
    /// Takes requests and answers none.
    pub is_mute: bool,
}

/// A Modbus device, unit 1.
#[derive(Debug, Clone, Default)]
pub struct Device(Arc<Mutex<Registers>>);

impl Device {
    pub fn registers(&self) -> MutexGuard<'_, Registers> {
        self.0.lock().expect("no test panicked meanwhile")
    }

    /// What was written since the last time.
    pub fn take_written(&self) -> Vec<String> {
        std::mem::take(&mut self.registers().written)
    }

    fn answer(&self, request: Request<'static>) -> Result<Response, ExceptionCode> {
        let mut registers = self.registers();
        let all = |map: &BTreeMap<u16, u16>, from: u16, count: u16| {
            (from..from + count)
                .map(|at| map.get(&at).copied())
                .collect::<Option<Vec<u16>>>()
                .ok_or(ExceptionCode::IllegalDataAddress)
        };
        match request {
            Request::ReadInputRegisters(from, count) => {
                all(&registers.input, from, count).map(Response::ReadInputRegisters)
            }
            Request::ReadHoldingRegisters(from, count) => {
                all(&registers.holding, from, count).map(Response::ReadHoldingRegisters)
            }
            Request::ReadCoils(at, 1) => match registers.coils.get(&at) {
                Some(&coil) => Ok(Response::ReadCoils(vec![coil])),
                None => Err(ExceptionCode::IllegalDataAddress),
            },
            Request::WriteSingleRegister(at, word) => {
                registers.write(at, word)?;
                Ok(Response::WriteSingleRegister(at, word))
            }
            Request::WriteMultipleRegisters(from, words) => {
                for (at, &word) in (from..).zip(words.iter()) {
                    registers.write(at, word)?;
                }
                let count = u16::try_from(words.len()).expect("few");
                Ok(Response::WriteMultipleRegisters(from, count))
            }
            Request::WriteSingleCoil(at, on) => {
                registers.written.push(format!("c{at}={on}"));
                registers.coils.insert(at, on);
                Ok(Response::WriteSingleCoil(at, on))
            }
            _ => Err(ExceptionCode::IllegalFunction),
        }
    }
}

impl Registers {
    fn write(&mut self, at: u16, word: u16) -> Result<(), ExceptionCode> {
        self.written.push(format!("{at}={word}"));
        if !self.holding.contains_key(&at) {
            return Err(ExceptionCode::IllegalDataAddress);
        }
        let most = self.most.get(&at).copied().unwrap_or(u16::MAX);
        self.holding.insert(at, word.min(most));
        Ok(())
    }
}

impl Service for Device {
    type Request = SlaveRequest<'static>;
    type Response = Option<Response>;
    type Exception = ExceptionCode;
    type Future = std::future::Ready<Result<Option<Response>, ExceptionCode>>;

    fn call(&self, asked: SlaveRequest<'static>) -> Self::Future {
        if asked.slave != 1 || self.registers().is_mute {
            return std::future::ready(Ok(None));
        }
        std::future::ready(self.answer(asked.request).map(Some))
    }
}

/// A Modbus TCP server with its connections, until dropped.
pub struct TcpServer {
    runtime: Option<tokio::runtime::Runtime>,
}

impl TcpServer {
    /// Serve at a port; 0 for any. The port.
    pub fn start(device: &Device, port: u16) -> (Self, u16) {
        let device = device.clone();
        let listener = std::net::TcpListener::bind(("127.0.0.1", port)).expect("a free port");
        listener.set_nonblocking(true).expect("it can");
        let port = listener.local_addr().expect("bound").port();
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .expect("a runtime");
        runtime.spawn(async move {
            let listener = tokio::net::TcpListener::from_std(listener).expect("a listener");
            let connected = |stream, _| {
                let device = device.clone();
                async move { Ok(Some((device, stream))) }
            };
            tokio_modbus::server::tcp::Server::new(listener)
                .serve(&connected, |_| {})
                .await
                .expect("serves");
        });
        let runtime = Some(runtime);
        (Self { runtime }, port)
    }
}

impl Drop for TcpServer {
    fn drop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}

/// A device on a serial line, until aborted.
pub fn serve_rtu(device: &Device, wire: SerialStream) -> JoinHandle<()> {
    let device = device.clone();
    tokio::spawn(async move {
        // Ends with the wire.
        let _ = tokio_modbus::server::rtu::Server::new(wire)
            .serve_forever(device)
            .await;
    })
}
