# The service alone, as a numeric user, for a root file system that is read-only (mount a tmpfs on /tmp).
FROM python:3.11-slim AS build
WORKDIR /build
ENV PIP_NO_CACHE_DIR=1 PIP_DISABLE_PIP_VERSION_CHECK=1 PYTHONDONTWRITEBYTECODE=1
# Locked by hash; made anew by the command that DEVELOPERS.md names. Its layer lasts as long as the lock file.
COPY service/deploy/requirements.lock ./
RUN python -m venv /opt/stillstock \
    && /opt/stillstock/bin/python -m pip install --require-hashes -r requirements.lock
COPY pyproject.toml README.md openapi.yaml ./
COPY service service
COPY client client
RUN /opt/stillstock/bin/python -m pip install --no-deps '.[service]' \
    && /opt/stillstock/bin/python -m pip uninstall --yes pip \
    && /opt/stillstock/bin/python -m compileall -q /opt/stillstock/lib

FROM python:3.11-slim
COPY --from=build /opt/stillstock /opt/stillstock
ENV PATH=/opt/stillstock/bin:$PATH PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 OPENBLAS_NUM_THREADS=1 \
    HOME=/tmp STILLSTOCK_HOST=0.0.0.0 STILLSTOCK_PORT=8000
USER 65532:65532
EXPOSE 8000
STOPSIGNAL SIGTERM
HEALTHCHECK --interval=30s --timeout=3s --start-period=20s --retries=3 \
    CMD ["python", "-c", "import os, urllib.request as u; u.build_opener(u.ProxyHandler({})).open('http://127.0.0.1:' + os.environ['STILLSTOCK_PORT'] + '/healthz', timeout=2)"]
ENTRYPOINT ["stillstock"]
CMD ["serve"]
