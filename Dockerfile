FROM python:3.11-slim
WORKDIR /srv/curewright
COPY requirements.lock ./
RUN pip install --no-cache-dir --require-hashes -r requirements.lock \
    && useradd --system --home /srv/curewright curewright \
    && mkdir /var/curewright && chown curewright /var/curewright
COPY manage.py LICENSE ./
COPY docs docs
COPY config config
COPY duework duework
COPY repairs repairs
COPY dispatch dispatch
COPY qa qa
USER curewright
ENV CUREWRIGHT_VAR=/var/curewright PYTHONUNBUFFERED=1
EXPOSE 8000
CMD ["python", "-m", "granian", "--interface", "wsgi", "--host", "0.0.0.0", "--port", "8000", \
     "--workers", "2", "--blocking-threads", "8", "--no-ws", \
     "--workers-kill-timeout", "5", "config.wsgi:application"]
